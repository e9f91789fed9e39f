"""Fluids and sealing materials."""

from django.db import models

from .base import Tracked


class Polymer(models.TextChoices):
    """Sealing materials by their ISO 1629 / ISO 1043 symbols, which are their names on every page."""

    NBR = "NBR", "NBR"
    HNBR = "HNBR", "HNBR"
    FKM = "FKM", "FKM"
    FFKM = "FFKM", "FFKM"
    EPDM = "EPDM", "EPDM"
    VMQ = "VMQ", "VMQ"
    FVMQ = "FVMQ", "FVMQ"
    CR = "CR", "CR"
    IIR = "IIR", "IIR"
    ACM = "ACM", "ACM"
    AEM = "AEM", "AEM"
    AU = "AU", "AU"
    EU = "EU", "EU"
    NR = "NR", "NR"
    SBR = "SBR", "SBR"
    ECO = "ECO", "ECO"
    CSM = "CSM", "CSM"
    PTFE = "PTFE", "PTFE"
    POM = "POM", "POM"
    PA = "PA", "PA"


class FluidFamily(models.TextChoices):
    """Fluid classes as used in the compatibility table (ISO 6743-4 symbols where they exist)."""

    MINERAL = "mineral", "mineral oil HH/HL/HM"
    MINERAL_HV = "mineral HV", "mineral oil HV"
    HEES = "HEES", "synthetic ester HEES"
    HFC = "HFC", "water glycol HFC"
    HFDR = "HFDR", "phosphate ester HFDR"
    ATF = "ATF", "automatic transmission fluid"
    DOT = "DOT 3/4", "brake fluid DOT 3/4"


class Fluid(Tracked):
    """A fluid that the shop meets: in units, in the rig, in cans."""

    name = models.CharField(max_length=80, unique=True)
    family = models.CharField(max_length=12, choices=FluidFamily)
    viscosity_grade = models.CharField(max_length=20, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
