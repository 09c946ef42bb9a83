"""Published trends as studies, and a page that says how far each is met."""

from frames.trends.page import PAGE, figure_name, make_page, page_text, section, summary_row
from frames.trends.running import TRENDS, found_of

__all__ = [
    "PAGE",
    "TRENDS",
    "figure_name",
    "found_of",
    "make_page",
    "page_text",
    "section",
    "summary_row",
]
