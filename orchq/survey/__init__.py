"""What scores ask of string players, measured: one tidy row for each place."""

from orchq.survey.files import ScoreFile, score_files
from orchq.survey.measuring import measured
from orchq.survey.running import Outcome, Survey
from orchq.survey.tables import pyarrow

__all__ = ["Outcome", "ScoreFile", "Survey", "measured", "pyarrow", "score_files"]
