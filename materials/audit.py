"""Looks up whether anything that the program or its developers' tools need has a known vulnerability.

Names and versions go to a database of vulnerabilities (OSV) and nowhere else. Where that cannot be reached it is said
in one line, and nothing fails: a check that needs the network must not stop work without one.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from materials.needed import declared, needed

__all__ = ["Looked", "audit", "listed_reasons", "main", "verdict"]

PAGE = Path(__file__).parents[1] / "docs" / "dependencies.md"
_OSV = "https://api.osv.dev/v1/query"
_PATIENCE = 15  # s for an answer
_LONGEST = 300  # s in all
_NO_NETWORK = re.compile(
    r"ConnectionError|Connect(?:ion)?Timeout|ReadTimeout|Max retries|ProxyError|\b5\d\d Server Error"
)
_ROW = re.compile(r"^\| `([A-Z][A-Za-z0-9-]+)` \|[^|]*\| *([^|]*?) *\|$", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Looked:
    """What the tool said: ``found`` its list of packages, or None and ``trouble``."""

    found: Sequence[Mapping[str, Any]] | None
    trouble: str = ""


def audit(pins: Mapping[str, str], service: str = _OSV) -> Looked:
    """Look ``pins`` (name to version) up at ``service``."""
    with tempfile.TemporaryDirectory() as folder:
        wanted = Path(folder) / "pins.txt"
        wanted.write_text("".join(f"{name}=={version}\n" for name, version in sorted(pins.items())))
        command = [sys.executable, "-m", "pip_audit", "-r", str(wanted), "--no-deps", "--disable-pip"]
        command += ["-s", "osv", "--osv-url", service, "-f", "json", "--progress-spinner", "off"]
        command += ["--timeout", str(_PATIENCE), "--cache-dir", folder]
        try:
            ended = subprocess.run(command, timeout=_LONGEST, capture_output=True, text=True, check=False)  # noqa: S603
        except subprocess.TimeoutExpired:
            return Looked(None, "ReadTimeout")
    try:
        return Looked(json.loads(ended.stdout)["dependencies"])
    except (ValueError, LookupError, TypeError):
        return Looked(None, ended.stderr or f"it ended with {ended.returncode} and said nothing")


def listed_reasons(page: str) -> dict[str, str]:
    """The vulnerabilities that ``page`` lists as known and borne, each with its reason."""
    return {name: reason for name, reason in _ROW.findall(page) if reason}


def verdict(looked: Looked, reasons: Mapping[str, str]) -> tuple[list[str], bool]:
    """What is to be said of it, and whether all is well."""
    if looked.found is None:
        if _NO_NETWORK.search(looked.trouble):
            return ["The database of vulnerabilities could not be reached; nothing was looked up."], True
        return ["The look-up of vulnerabilities went wrong:", looked.trouble.strip()[-800:]], False
    said, used, well = [], set(), True
    for package in looked.found:
        about = f"{package['name']} {package.get('version', '')}".strip()
        if package.get("skip_reason"):
            said.append(f"{about} was not looked up: {package['skip_reason']}")
            well = False
        for one in package.get("vulns", ()):
            names = {one["id"], *one.get("aliases", ())}
            known = names & set(reasons)
            used |= known
            if not known:
                mended = ", ".join(one.get("fix_versions", ())) or "no version yet"
                said.append(f"{about}: {one['id']}, mended in {mended}.")
                well = False
    said += [
        f"{name} is listed in docs/dependencies.md and was not found; take it out." for name in reasons.keys() - used
    ]
    last = f"{len(looked.found)} packages were looked up"
    said.append(f"{last}; none has a known vulnerability that is not listed." if well else f"{last}.")
    return said, well


def main() -> int:
    """Say what is known; exit code 1 when something is that docs/dependencies.md does not list."""
    pins = {name: there.version for name, there in needed(declared(("dev",))).items()}
    said, well = verdict(audit(pins), listed_reasons(PAGE.read_text(encoding="utf-8")))
    print("\n".join(said))
    return 0 if well else 1


if __name__ == "__main__":
    sys.exit(main())
