"""What was found in the field: read from a filled-in sheet, pinned to the pad it was found at, logged."""

from playsite.visits.log import LOG_FILE, Standing, new_rows, read_log, standing_of, write_log
from playsite.visits.quantities import Asked, quantity
from playsite.visits.rules import Known, check_rows
from playsite.visits.sheet import COLUMNS, OBSTACLE, PAD_COLUMNS, WITHDRAWN, Visit, read_sheet

__all__ = [
    "COLUMNS",
    "LOG_FILE",
    "OBSTACLE",
    "PAD_COLUMNS",
    "WITHDRAWN",
    "Asked",
    "Known",
    "Standing",
    "Visit",
    "check_rows",
    "new_rows",
    "quantity",
    "read_log",
    "read_sheet",
    "standing_of",
    "write_log",
]
