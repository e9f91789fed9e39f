"""Backups: one archive of the database and the stored files, and its way back into an empty place."""
