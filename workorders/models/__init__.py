"""The record: box to unit to rebuild to findings, parts, test, release, warranty, claim."""

from .box import Box, BoxLine, BoxLink, BoxPhoto
from .finding import Finding, Measurement, Operation
from .instrument import Calibration, Instrument
from .outside_work import OutsideWork
from .part_used import PartTakenBack, PartUsed
from .pressure_test import FluidDecision, LoggerFile, PressureTest, Reading, StepResult, Trace, Verdict
from .rebuild import ArrivalItem, FluidFound, GoAhead, Photo, Quote, Rebuild, Signature
from .release import Claim, PackedUnit, Parcel, Release, Shipment, Warranty
from .unit import Unit
from .work_order import WorkOrder

__all__ = [
    "ArrivalItem",
    "Box",
    "BoxLine",
    "BoxLink",
    "BoxPhoto",
    "Calibration",
    "Claim",
    "Finding",
    "FluidDecision",
    "FluidFound",
    "GoAhead",
    "Instrument",
    "LoggerFile",
    "Measurement",
    "Operation",
    "OutsideWork",
    "PackedUnit",
    "Parcel",
    "PartTakenBack",
    "PartUsed",
    "Photo",
    "PressureTest",
    "Quote",
    "Reading",
    "Rebuild",
    "Release",
    "Shipment",
    "Signature",
    "StepResult",
    "Trace",
    "Unit",
    "Verdict",
    "Warranty",
    "WorkOrder",
]
