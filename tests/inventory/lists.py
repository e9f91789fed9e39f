"""Lists as files, for tests, and what a check tells of one."""

import io

import openpyxl

PARTS = (
    'Part number,Name,Kind,Material,"Hardness, Shore A",Size,Note\n'
    "P-1,rod seal,lip seal,NBR,90,12 x 20 x 5,\n"
    "P-2,clip,clip or plate,,,,old stock\n"
)
LOTS = (
    "Lot number;Part number;Supplier;Pieces;Place;Received on;Cure date;Cost of a piece\n"
    "L-1;P-1;Northhaven Seals;20;A1;03.04.2025;3Q24;2,50\n"
    "L-2;P-1;Northhaven Seals;5;A2;2025-04-04;4Q24;\n"
)
TYPES = (
    'Row is,Unit type,Place,Name,Family,Service fluid,"Bore, mm",Kind,Motion\n'
    "type,C-1,,Lift cylinder,cylinder,HM 32,25,,\n"
    "position,C-1,S1,rod seal,,,,rod seal,reciprocating\n"
    "position,C-1,S2,wiper,,,,wiper,reciprocating\n"
    "component,C-1,K1,rod,,,,rod,\n"
)


def told(found):
    return [(fault.row, fault.column, fault.reason) for fault in found.faults]


def workbook(table_rows):
    book = openpyxl.Workbook()
    for row in table_rows:
        book.active.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()
