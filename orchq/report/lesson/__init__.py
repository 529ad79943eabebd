"""A teacher's sheet: places in scores, exercises and a quiz, as one page."""

from orchq.report.lesson.lesson_page import LessonPlan, lesson_page

__all__ = ["LessonPlan", "lesson_page"]
