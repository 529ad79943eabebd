"""What scores ask of string players, measured: one tidy row for each place."""

from orchq.survey.attested_turtle import surveys_as_turtle
from orchq.survey.input_files import ScoreFile, score_files
from orchq.survey.measuring import measured
from orchq.survey.survey_run import Survey, SurveyedFile
from orchq.survey.table_files import pyarrow

__all__ = [
    "ScoreFile",
    "Survey",
    "SurveyedFile",
    "measured",
    "pyarrow",
    "score_files",
    "surveys_as_turtle",
]
