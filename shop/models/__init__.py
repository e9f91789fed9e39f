"""The shop's rows: people, customers, the catalogue, files."""

from .application import Application, MountingPlace
from .base import AppendOnly, Tracked
from .customer import Customer, ShipTo
from .customer_merge import CustomerKey, CustomerMerge, DifferentCustomers, MergeTakenBack
from .entry import Import, ImportedRow
from .fluid import Fluid, FluidFamily, Polymer
from .form_token import Counter, FormToken
from .hose import Hose
from .interchange import Interchange
from .labour_rate import LabourRate
from .maker_number import MakerNumber
from .reference_photo import ReferencePhoto
from .shop_profile import LimitSetting, ShopProfile
from .stored_file import StoredFile
from .technique import FasteningFigure, Locker, SpecialTool, Step, TechniqueNote, ToolNeed
from .test_plan import StepLimit, TestPlan, TestStep
from .unit_type import Component, DimensionLimit, Port, SealPosition, TypeRevision, UnitType
from .user import User

__all__ = [
    "AppendOnly",
    "Application",
    "Component",
    "Counter",
    "Customer",
    "CustomerKey",
    "CustomerMerge",
    "DifferentCustomers",
    "DimensionLimit",
    "FasteningFigure",
    "Fluid",
    "FluidFamily",
    "FormToken",
    "Hose",
    "Import",
    "ImportedRow",
    "Interchange",
    "LabourRate",
    "LimitSetting",
    "Locker",
    "MakerNumber",
    "MergeTakenBack",
    "MountingPlace",
    "Polymer",
    "Port",
    "ReferencePhoto",
    "SealPosition",
    "ShipTo",
    "ShopProfile",
    "SpecialTool",
    "Step",
    "StepLimit",
    "StoredFile",
    "TechniqueNote",
    "TestPlan",
    "TestStep",
    "ToolNeed",
    "Tracked",
    "TypeRevision",
    "UnitType",
    "User",
]
