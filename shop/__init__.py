"""The shop: settings, people, the catalogue of unit types, and the look every page shares."""

import sys
import warnings

try:  # the bundled SQLite of many systems carries the WAL-reset fault fixed in 3.51.3
    import pysqlite3
    import pysqlite3.dbapi2
except ImportError:  # no wheel for this platform: the start-up check reports the version in use
    warnings.warn("pysqlite3 is not installed; using Python's own SQLite library", stacklevel=2)
else:
    sys.modules["sqlite3"] = pysqlite3
    sys.modules["sqlite3.dbapi2"] = pysqlite3.dbapi2
