"""The bill of materials as CycloneDX JSON: name, version and licence of everything the wheel needs, no more."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Collection
from typing import Any

from packaging.utils import canonicalize_name

from materials.needed import PYPROJECT, declared, needed
from spinewright import __version__

__all__ = ["bill_of", "main", "wanting"]

OUT = PYPROJECT.parent / "out" / "materials.json"
_SPEC = "1.6"


def bill_of(environment: dict[str, Any], direct: Collection[str], needs: Collection[str]) -> dict[str, Any]:
    """The part of a bill of a whole ``environment`` that its main component needs: ``direct`` itself, ``needs`` in all.

    Names are canonical ones.
    """
    there: dict[str, dict[str, Any]] = {canonicalize_name(part["name"]): part for part in environment["components"]}
    kept = {name: part for name, part in sorted(there.items()) if name in needs}
    refs = {part["bom-ref"] for part in kept.values()}
    root = {**environment["metadata"]["component"], "version": __version__}
    uses = [{"ref": root["bom-ref"], "dependsOn": sorted(kept[name]["bom-ref"] for name in direct if name in kept)}]
    uses += [
        {"ref": each["ref"], "dependsOn": sorted(refs.intersection(each.get("dependsOn", ())))}
        for each in environment["dependencies"]
        if each["ref"] in refs
    ]
    about = {**environment["metadata"], "component": root}
    return {**environment, "metadata": about, "components": list(kept.values()), "dependencies": uses}


def wanting(bill: dict[str, Any], needs: Collection[str]) -> list[str]:
    """What a reader of the bill would miss, one sentence each; empty when it is whole."""
    there = {canonicalize_name(part["name"]): part for part in bill["components"]}
    said = [f"{name} is needed and not in the bill." for name in sorted(set(needs) - set(there))]
    for name, part in sorted(there.items()):
        said += [f"{name} says no {key}." for key in ("version", "licenses") if not part.get(key)]
    return said


def main() -> int:
    """Write the bill; exit code 1 when something stays unsaid."""
    from cyclonedx.schema import SchemaVersion
    from cyclonedx.validation.json import JsonStrictValidator

    command = [sys.executable, "-m", "cyclonedx_py", "environment", "--pyproject", str(PYPROJECT), "--sv", _SPEC]
    command += ["--of", "JSON", "--no-validate", "--output-reproducible"]
    made = subprocess.run(command, check=True, timeout=300, capture_output=True)  # noqa: S603
    wanted = declared()
    needs = needed(wanted)
    bill = bill_of(json.loads(made.stdout), {canonicalize_name(one.name) for one in wanted}, needs)
    said = wanting(bill, needs)
    text = json.dumps(bill, indent=1, ensure_ascii=False) + "\n"
    wrong = JsonStrictValidator(SchemaVersion.from_version(_SPEC)).validate_str(text)
    if wrong is not None:
        said.append(f"The bill is no CycloneDX {_SPEC}: {wrong}")
    OUT.parent.mkdir(exist_ok=True)
    OUT.write_text(text, encoding="utf-8")
    print(f"{OUT.relative_to(PYPROJECT.parent)}: the program and {len(needs)} packages that it needs.")
    for sentence in said:
        print(f"  {sentence}")
    return 1 if said else 0


if __name__ == "__main__":
    sys.exit(main())
