"""The handover sheet on its way out: made from the casebook or a case file, shown in three forms."""

from api.handover.build import sheet_of, sheet_of_case
from api.handover.html import as_html
from api.handover.markdown import as_markdown

__all__ = ["as_html", "as_markdown", "sheet_of", "sheet_of_case"]
