"""The record: box to unit to rebuild to findings, parts, test, release, warranty, claim."""

from .box import Box, BoxLine, BoxLink, BoxPhoto
from .cost import InvoicedPrice, WorkTime
from .finding import Finding, Grade, Measurement
from .hose_check import HoseCheck
from .instrument import Calibration, CalibrationReview, Instrument
from .lesson import Lesson, LessonReview
from .operation import Operation, OperationValue
from .outside_work import OutsideWork
from .packing import Exchange, Packing, PackingLine, PackingParcel, PackingUnit
from .part_used import PartTakenBack, PartUsed
from .pressure_test import FluidDecision, LoggerFile, PressureTest, Reading, StepResult, Trace, Verdict
from .rebuild import ArrivalItem, FluidFound, GoAhead, Photo, Quote, Rebuild, Signature
from .recall import Recall, RecallCall, RecallDecision, RecallLetter, RecallLot, RecallUnit
from .release import Claim, PackedUnit, Parcel, Release, Shipment, Warranty
from .rig import Rig, RigChannel, RigFile, RigRefusal, RigToken
from .seal_found import SealFound
from .step_confirmation import StepConfirmation
from .unit import Unit
from .work_order import WorkOrder

__all__ = [
    "ArrivalItem",
    "Box",
    "BoxLine",
    "BoxLink",
    "BoxPhoto",
    "Calibration",
    "CalibrationReview",
    "Claim",
    "Exchange",
    "Finding",
    "FluidDecision",
    "FluidFound",
    "GoAhead",
    "Grade",
    "HoseCheck",
    "Instrument",
    "InvoicedPrice",
    "Lesson",
    "LessonReview",
    "LoggerFile",
    "Measurement",
    "Operation",
    "OperationValue",
    "OutsideWork",
    "PackedUnit",
    "Packing",
    "PackingLine",
    "PackingParcel",
    "PackingUnit",
    "Parcel",
    "PartTakenBack",
    "PartUsed",
    "Photo",
    "PressureTest",
    "Quote",
    "Reading",
    "Rebuild",
    "Recall",
    "RecallCall",
    "RecallDecision",
    "RecallLetter",
    "RecallLot",
    "RecallUnit",
    "Release",
    "Rig",
    "RigChannel",
    "RigFile",
    "RigRefusal",
    "RigToken",
    "SealFound",
    "Shipment",
    "Signature",
    "StepConfirmation",
    "StepResult",
    "Trace",
    "Unit",
    "Verdict",
    "Warranty",
    "WorkOrder",
    "WorkTime",
]
