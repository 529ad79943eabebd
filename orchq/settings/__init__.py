"""Settings of a project: what its checks go by, read from a file and applied to reports.

They are data: nothing in them is run, and nothing is fetched.
"""

from orchq.settings.applying import with_settings
from orchq.settings.project_settings import AcceptedPlace, Settings
from orchq.settings.settings_file import read_settings, settings_of

__all__ = ["AcceptedPlace", "Settings", "read_settings", "settings_of", "with_settings"]
