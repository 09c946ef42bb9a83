"""Weight bearing and healing: allowed load by week, shares of frame and bone, thresholds."""

from frames.healing_course.course import HealingCourse, healing
from frames.healing_course.weeks import Week

__all__ = ["HealingCourse", "Week", "healing"]
