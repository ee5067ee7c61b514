"""``make bench``: every benchmark's table, one after the other."""

from __future__ import annotations

from benchmarks import advice, flight, stroke


def main() -> None:
    """Print the tables."""
    for title, part in (("Power stroke", stroke), ("Flight", flight), ("The next move", advice)):
        print(title)
        for what, number in part.rows():
            print(f"  {what:78s} {number}")
        print()


if __name__ == "__main__":
    main()
