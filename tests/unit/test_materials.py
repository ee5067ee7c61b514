"""What the program is made of: the bill is whole and holds nothing else, and known vulnerabilities fail the look-up."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
from materials.audit import PAGE, Looked, audit, listed_reasons, verdict
from materials.bill import bill_of, wanting
from materials.needed import declared, needed

from spinewright import __version__

_KNOWN = {  # an invented vulnerability in the form of the open schema of OSV (ossf.github.io/osv-schema, version 1.6)
    "schema_version": "1.6.0",
    "id": "GHSA-2222-3333-4444",
    "aliases": ["CVE-1999-00001"],
    "summary": "invented",
    "modified": "2026-01-01T00:00:00Z",
    "published": "2026-01-01T00:00:00Z",
    "affected": [
        {
            "package": {"ecosystem": "PyPI", "name": "jinja2"},
            "ranges": [{"type": "ECOSYSTEM", "events": [{"introduced": "0"}, {"fixed": "9.9"}]}],
        }
    ],
}


class _Database(BaseHTTPRequestHandler):
    """Knows one vulnerability of one package."""

    def do_POST(self) -> None:
        asked = json.loads(self.rfile.read(int(self.headers["content-length"])))
        known = [_KNOWN] if asked["package"]["name"] == "jinja2" else []
        body = json.dumps({"vulns": known} if known else {}).encode()
        self.send_response(200)
        self.send_header("content-length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_args: object) -> None:
        """Say nothing."""


@pytest.fixture
def database() -> Iterator[str]:
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Database)
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_address[1]}/query"
    server.shutdown()
    server.server_close()
    thread.join()


def test_a_known_vulnerability_fails_unless_it_is_listed_with_a_reason(database: str) -> None:
    looked = audit({"jinja2": "3.1.6", "segno": "1.6.6"}, database)
    said, well = verdict(looked, {})
    assert not well
    assert said == ["jinja2 3.1.6: CVE-1999-00001, mended in 9.9.", "2 packages were looked up."]
    for name in ("GHSA-2222-3333-4444", "CVE-1999-00001"):
        page = (
            f"| vulnerability | package | why |\n|---|---|---|\n| `{name}` | jinja2 | never given a stranger's text |\n"
        )
        said, well = verdict(looked, listed_reasons(page))
        assert well
        assert said == ["2 packages were looked up; none has a known vulnerability that is not listed."]
    assert listed_reasons(f"| `{name}` | jinja2 | |\n") == {}, "without a reason it does not count"
    said, well = verdict(looked, {"GHSA-2222-3333-4444": "x", "CVE-1999-00002": "y"})
    assert well
    assert said[0] == "CVE-1999-00002 is listed in docs/dependencies.md and was not found; take it out."


def test_without_the_network_it_says_so_in_one_line_and_goes_on() -> None:
    said, well = verdict(audit({"segno": "1.6.6"}, "http://127.0.0.1:9/query"), {})
    assert well
    assert said == ["The database of vulnerabilities could not be reached; nothing was looked up."]


def test_a_look_up_that_goes_wrong_otherwise_is_no_pass() -> None:
    for trouble in ("Traceback: ValueError: no", "it ended with 2 and said nothing", "ERROR: 404 Client Error"):
        said, well = verdict(Looked(None, trouble), {})
        assert not well
        assert trouble in said
    said, well = verdict(Looked([{"name": "own", "skip_reason": "no such version"}]), {})
    assert not well
    assert said[0] == "own was not looked up: no such version"


def test_every_vulnerability_on_the_page_has_its_reason() -> None:
    page = PAGE.read_text()
    rows = [line for line in page.splitlines() if line.startswith("| `")]
    assert len(rows) == len(listed_reasons(page))


def test_what_is_needed_goes_all_the_way_down_and_no_further() -> None:
    own, all_of_it = needed(declared()), needed(declared(("dev",)))
    assert {"numpy", "starlette", "mako", "markupsafe", "h11", "typst"} <= set(own), "of others' needs too"
    assert not {"ruff", "pytest", "pip-audit", "spinewright"} & set(own)
    assert set(own) | {"ruff", "pip-audit", "certifi"} <= set(all_of_it)


def test_the_bill_holds_what_is_needed_and_says_what_it_lacks() -> None:
    part = {"version": "1", "licenses": [{"license": {"id": "MIT"}}]}
    names = ("Direct_One", "deep", "developers-only", "spinewright")
    environment = {
        "metadata": {"component": {"bom-ref": "root", "name": "spinewright"}},
        "components": [{"name": name, "bom-ref": f"{name}==1", **part} for name in names],
        "dependencies": [
            {"ref": "root", "dependsOn": ["Direct_One==1", "developers-only==1"]},
            {"ref": "Direct_One==1", "dependsOn": ["deep==1", "developers-only==1"]},
            {"ref": "developers-only==1"},
            {"ref": "deep==1"},
        ],
    }
    needs = {"direct-one", "deep"}
    bill = bill_of(environment, {"direct-one"}, needs)
    assert [one["name"] for one in bill["components"]] == ["deep", "Direct_One"]
    assert bill["metadata"]["component"]["version"] == __version__
    assert bill["dependencies"] == [
        {"ref": "root", "dependsOn": ["Direct_One==1"]},
        {"ref": "Direct_One==1", "dependsOn": ["deep==1"]},
        {"ref": "deep==1", "dependsOn": []},
    ]
    assert wanting(bill, needs) == []
    bill["components"][0]["licenses"] = []
    assert wanting(bill, {*needs, "other"}) == ["other is needed and not in the bill.", "deep says no licenses."]
