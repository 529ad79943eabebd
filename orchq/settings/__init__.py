"""Settings of a project: options of its checks, read from a file and applied to reports.

They are data only: nothing in them is run or fetched.
"""

from orchq.settings.applying import with_settings
from orchq.settings.project_settings import AcceptedPlace, Settings
from orchq.settings.settings_file import MOST_PLAYERS, OWN_FILE, read_settings, settings_of

__all__ = [
    "MOST_PLAYERS",
    "OWN_FILE",
    "AcceptedPlace",
    "Settings",
    "read_settings",
    "settings_of",
    "with_settings",
]
