"""Conditions that are confirmed before a step, each a sentence that is true when it is ticked."""

from .kind import Condition

BLED = Condition(key="bled", sentence="The unit is filled with liquid and bled: no air is left inside.")
SHIELDED = Condition(key="shielded", sentence="The shield is closed and everybody stands clear of the unit.")
END_OF_STROKE = Condition(key="end_of_stroke", sentence="The piston stands at the very end of its stroke.")
FAR_PORT = Condition(
    key="far_port", sentence="The far port is open into a measuring glass, and nothing else can run into it."
)
LOAD_CAUGHT = Condition(key="load_caught", sentence="A stop or a prop catches the load if it falls.")
ON_FIXTURE = Condition(key="on_fixture", sentence="The seal sits in its carrier on the fixture.")
NO_RESERVOIR = Condition(
    key="no_reservoir", sentence="No assembled reservoir is under pressure: it is off or shut off."
)
VOLTMETER = Condition(
    key="voltmeter", sentence="The voltmeter sits at the terminals of the motor, the ammeter in its lead."
)
COOLED = Condition(key="cooled", sentence="The motor is cool to the hand since it last ran.")
SUPPLY_OFF = Condition(key="supply_off", sentence="The supply is disconnected and cannot come on by itself.")
ELECTRONICS_OFF = Condition(
    key="electronics_off", sentence="Every electronic part is disconnected from what is tested."
)
OUTLET_BLANKED = Condition(
    key="outlet_blanked", sentence="The outlet of the rig is blanked where the unit goes on."
)
