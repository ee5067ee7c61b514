"""What the program is made of: a bill of everything the wheel needs, and known vulnerabilities of all that is used.

Stands outside the package, like ``benchmarks``. ``make materials`` writes the bill; CI looks the rest up.
"""
