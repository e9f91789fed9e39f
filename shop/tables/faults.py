"""What is wrong with a file as a whole."""


class TableError(ValueError):
    """The file cannot be read as a table; the message tells a person what to do."""
