"""The date that a report bears."""

import os
from datetime import UTC, date, datetime

from orchq.errors import OrchqError

_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def report_date() -> date:
    """Return today, or the day of ``SOURCE_DATE_EPOCH``, in UTC.

    That variable (https://reproducible-builds.org/specs/source-date-epoch/) holds seconds since
    1970 and makes what is generated the same on every day. Raises ``OrchqError`` when it holds
    anything else.
    """
    given = os.environ.get("SOURCE_DATE_EPOCH")
    if not given:
        return datetime.now().astimezone().date()
    try:
        return datetime.fromtimestamp(int(given), UTC).date()
    except (ValueError, OverflowError, OSError) as error:
        raise OrchqError("SOURCE_DATE_EPOCH does not hold seconds since 1970") from error


def date_words(day: date) -> str:
    """A date as it is printed, whatever the language of the machine.

    >>> date_words(date(2026, 3, 7))
    '7 March 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"
