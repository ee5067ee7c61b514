"""What stands in an empty field as an example, in the units that whoever fills it in writes."""

from __future__ import annotations

from spinewright.units import Kind, System, parse, show

__all__ = ["example_in"]


def example_in(form: object, text: str, system: System) -> str:
    """``text``, an example of ``form``, as ``system`` writes a quantity; what is no quantity stays as it is."""
    if system is System.INCH or not text or not isinstance(form, Kind):
        return text
    # what stands beside a value (newtons beside pounds) is nothing one has to type in
    return show(parse(text, form, field="example"), form, system).partition(" (")[0]
