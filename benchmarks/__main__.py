"""``make bench``: every benchmark's table, one after the other."""

from __future__ import annotations

from benchmarks import advice, flight, page, range_speed, start, stroke


def main() -> None:
    """Print the tables."""
    parts = (
        ("Power stroke", stroke),
        ("Flight", flight),
        ("The next move", advice),
        ("Virtual range", range_speed),
        ("Starting", start),
        ("The bench page", page),
    )
    for title, part in parts:
        print(title)
        for what, number in part.rows():
            print(f"  {what:78s} {number}")
        print()


if __name__ == "__main__":
    main()
