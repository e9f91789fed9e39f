"""Tables in and out as files: CSV and XLSX."""
