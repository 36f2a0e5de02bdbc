"""The sheets as a DXF drawing that a drafter can go on with."""
