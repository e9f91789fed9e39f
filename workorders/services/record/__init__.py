"""The whole record of a unit as plain data: for the history command, signatures and papers."""
