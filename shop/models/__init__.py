"""The shop's rows: people, customers, the catalogue, files."""

from .application import Application, MountingPlace
from .base import AppendOnly, Tracked
from .customer import Customer
from .entry import Import, ImportedRow
from .fluid import Fluid, FluidFamily, Polymer
from .form_token import Counter, FormToken
from .shop_profile import LimitSetting, ShopProfile
from .stored_file import StoredFile
from .test_plan import StepLimit, TestPlan, TestStep
from .unit_type import Component, DimensionLimit, Port, SealPosition, TypeRevision, UnitType
from .user import User

__all__ = [
    "AppendOnly",
    "Application",
    "Component",
    "Counter",
    "Customer",
    "DimensionLimit",
    "Fluid",
    "FluidFamily",
    "FormToken",
    "Import",
    "ImportedRow",
    "LimitSetting",
    "MountingPlace",
    "Polymer",
    "Port",
    "SealPosition",
    "ShopProfile",
    "StepLimit",
    "StoredFile",
    "TestPlan",
    "TestStep",
    "Tracked",
    "TypeRevision",
    "UnitType",
    "User",
]
