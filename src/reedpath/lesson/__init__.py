"""The lesson: parts and repeats, spoken steps, ladder and drills. Knows nothing of drawing or sound."""

from reedpath.lesson.model import Drill, Lesson, LessonPart, Rung

__all__ = ["Drill", "Lesson", "LessonPart", "Rung"]
