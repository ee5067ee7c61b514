"""What is printed or drawn: pictures and sheets. Knows nothing of the faces.

Lives here: the forgiveness map, the build sheet as a picture and as rows of text, the holes of a walk to the target.
Does not live here: any number of its own; whatever is shown was computed below. matplotlib is loaded when a picture is
drawn, not before.
"""

from spinewright.report.map_picture import draw_map
from spinewright.report.sheet_picture import draw_sheet
from spinewright.report.sheet_rows import settings_rows, sheet_text
from spinewright.report.target_picture import draw_target

__all__ = ["draw_map", "draw_sheet", "draw_target", "settings_rows", "sheet_text"]
