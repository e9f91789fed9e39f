"""Names of sealing materials and fluid classes that the calculations accept."""

# ISO 1629 and ISO 1043 symbols; the same as the choices of a part (a test compares them).
POLYMERS = (
    "NBR",
    "HNBR",
    "FKM",
    "FFKM",
    "EPDM",
    "VMQ",
    "FVMQ",
    "CR",
    "IIR",
    "ACM",
    "AEM",
    "AU",
    "EU",
    "NR",
    "SBR",
    "ECO",
    "CSM",
    "PTFE",
    "POM",
    "PA",
)
# ISO 6743-4 classes where they exist; the same as the families of a fluid (a test compares them).
FLUIDS = ("mineral", "mineral HV", "HEES", "HFC", "HFDR", "ATF", "DOT 3/4")
