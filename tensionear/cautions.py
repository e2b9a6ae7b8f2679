"""What a person must know before a belt is touched; every front end and every record carries it."""

MANUFACTURER_WINS = "The vehicle manufacturer's procedure, values and torques win over anything shown here."
NO_SPECIFICATION_OF_ITS_OWN = (
    "This tool supplies no specification of its own: every value that it judges by was entered by a person."
)
DOES_NOT_REPLACE = "A reading does not replace the tensioner's mark or the manufacturer's method."

CAUTIONS = (
    "For trained technicians only.",
    MANUFACTURER_WINS,
    NO_SPECIFICATION_OF_ITS_OWN,
    "Switch the engine off and make sure that it cannot start.",
    "Work on a cold belt drive.",
    "Take the locking tools out before the engine is turned.",
    "Keep hands, tools and clothing clear before the engine is turned.",
    "Turn the engine by hand only, in its direction of rotation.",
    DOES_NOT_REPLACE,
    "Local rules and licensed practice apply.",
)


def cautions_text() -> str:
    """Return the cautions as a list for people to read, one to a line."""
    return "\n".join(f"- {caution}" for caution in CAUTIONS)
