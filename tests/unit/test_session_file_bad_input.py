"""Bad input: each with one sentence that names file, line and field and says what would be right; nothing is lost."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spinewright.errors import InputError, ScopeError, SessionFileError, StoreError
from spinewright.logbook import append, create, parse, read, template

DATA = Path(__file__).parents[1] / "data"
BARE_SESSION = (DATA / "invented_bench.toml").read_text(encoding="utf-8")
FULL_SESSION = BARE_SESSION + (DATA / "invented_events.toml").read_text(encoding="utf-8")


def event(kind: str, *lines: str) -> str:
    return "\n".join(["", "[[event]]", f'kind = "{kind}"', *lines, ""])


def line_with(text: str, piece: str) -> int:
    return next(number for number, line in enumerate(text.splitlines(), 1) if piece in line)


def told(text: str) -> InputError:
    with pytest.raises(InputError) as error:
        parse(text, "mine.toml")
    sentence = str(error.value)
    assert sentence.startswith("mine.toml")
    assert sentence.endswith(".")
    assert "\n" not in sentence
    return error.value


# (what was written, what stands there instead, field that is named, words of the sentence)
SLIPS = [
    ('peak_weight = "57.3 lb"', 'peak_wieght = "57.3 lb"', "bow.peak_wieght", "nearest known is 'peak_weight'"),
    ("[bow.rest]", "[bow.rets]", "bow.rets", "nearest known is 'rest'"),
    ("[owned]", "[ownd]", "ownd", "nearest known is 'owned'"),
    ('let_off = "78 %"', "", "bow.let_off", 'write for example let_off = "82 %"'),
    ('let_off = "78 %"', 'let_off = "  "', "bow.let_off", "has no let_off"),
    ('peak_weight = "57.3 lb"', "peak_weight = 57.3", "bow.peak_weight", "has no unit"),
    ('peak_weight = "57.3 lb"', 'peak_weight = "57.3"', "bow.peak_weight", "has no unit"),
    ('peak_weight = "57.3 lb"', 'peak_weight = "57.3 in"', "bow.peak_weight", "force is wanted"),
    ('mass = "106 gr"', 'mass = "-106 gr"', "arrow.point.mass", "negative"),
    ('spine = "385"', 'spine = "30"', "shaft.spine", "cannot be right"),
    ('spine = "385"', 'spine = "3000"', "shaft.spine", "cannot be right"),
    ('spine_test = "current"', "", "shaft.spine_test", "has no spine_test"),
    ('inner_diameter = "0.204 in"', 'inner_diameter = "0.26 in"', "shaft.inner_diameter", "not smaller"),
    ('throat_length = "28 7/8 in"', 'throat_length = "25 1/4 in"', "arrow", ""),
    ('carbon_length = "28 1/4 in"', 'carbon_length = "29 in"', "arrow.carbon_length", "do not go together"),
    ('draw = "20 in"', 'draw = "13 in"', "bow.draw_readings", "falls back"),
    ('draw = "20 in"', 'drw = "20 in"', "bow.draw_readings[4].drw", "nearest known is 'draw'"),
    ('drops_after = "4.5 in"', 'drops_after = "45 in"', "bow.rest.drops_after", "cannot be right"),
    ('kind = "drop-away"', 'kind = "drop away"', "bow.rest.kind", "nearest known is 'drop-away'"),
    ("count = 3", 'count = "3"', "arrow.vanes.count", "without quotation marks"),
    ('hand = "right"', 'hand = "rihgt"', "scope.hand", "nearest known is 'right'"),
    ('hand = "right"', "", "scope.hand", "has no hand"),
    ("group_shots = 5", "", "archer.group_shots", "has no group_shots"),
    ("dated = 2026-01-15", 'dated = "last spring"', "limits[1].dated", "a date"),
    ('points = ["90 gr", "106 gr", "7.5 g"]', 'points = ["90 gr", "106"]', "owned.points[2]", "has no unit"),
    ('points = ["90 gr", "106 gr", "7.5 g"]', 'points = "90 gr"', "owned.points", "a list in square brackets"),
    ("[start]", "start = 3\n[strat]", "strat", ""),
]


@pytest.mark.parametrize(("right", "wrong", "field", "words"), SLIPS)
def test_a_slip_is_named_with_its_line(right: str, wrong: str, field: str, words: str) -> None:
    assert right in BARE_SESSION
    text = BARE_SESSION.replace(right, wrong, 1)
    error = told(text)
    assert error.place.field is not None
    assert error.place.field.startswith(field)
    assert words in str(error)
    assert error.place.line is not None
    if wrong.strip() and "falls back" not in words:
        assert abs(error.place.line - line_with(text, wrong.splitlines()[-1])) <= (0 if words else 2)


def test_an_arrow_shorter_than_the_rests_reach() -> None:
    text = BARE_SESSION.replace("28 7/8 in", "25 1/4 in").replace("28 1/4 in", "24 5/8 in")
    error = told(text)
    assert "does not reach the rest at full draw" in str(error)
    assert error.place.field == "arrow.throat_length"
    assert error.place.line == line_with(text, "throat_length")


# (lines of an event, field, words)
BAD_EVENTS = [
    (("kind_ = 3",), "event[1].kind_", "nearest known is 'kind'"),
    (('hits = [{ shaft = 1, state = "bare", hole = "left 1 in" }]',), "event[1].distance", "has no distance"),
    (('distance = "20 yd"',), "event[1].hits", "has no hits"),
    (('distance = "20 yd"', "hits = []"), "event[1]", "0 arrows"),
    (('distance = "20"', "hits = []"), "event[1].distance", "has no unit"),
    (
        ('distance = "20 yd"', "hits = [", '  { shaft = 1, state = "bare", hole = "1.2 in" },', "]"),
        "event[1].hits[1].hole",
        "does not say one side",
    ),
    (
        (
            'distance = "20 yd"',
            "hits = [",
            '  { shaft = 1, state = "bare", hole = "left 1.2 in" },',
            '  { shaft = 2, state = "naked", hole = "left 1.2 in" },',
            "]",
        ),
        "event[1].hits[2].state",
        '"bare" or "fletched"',
    ),
    (
        ('distance = "20 yd"', 'hits = [{ shaft = 0, state = "bare", hole = "left 1.2 in" }]'),
        "event[1].hits[1].shaft",
        "number the shafts",
    ),
    (
        ('distance = "20 yd"', 'hits = [{ shaft = 1, state = "bare", hole = "left 170 in" }]'),
        "event[1].hits[1].hole",
        "",
    ),
    (
        (
            'distance = "20 yd"',
            'hits = [{ shaft = 1, state = "bare", hole = "left 1 in", nock_leans = "right 80 deg" }]',
        ),
        "event[1].hits[1].nock_leans",
        "",
    ),
    (('distance = "20 miles"', "hits = []"), "event[1].distance", ""),
    (('id = "a b"', 'distance = "20 yd"'), "event[1].id", "cannot be an id"),
    (('when = "yesterday"', 'distance = "20 yd"'), "event[1].when", "a date"),
]


@pytest.mark.parametrize(("lines", "field", "words"), BAD_EVENTS)
def test_an_event_that_cannot_be(lines: tuple[str, ...], field: str, words: str) -> None:
    text = BARE_SESSION + event("shots", *lines)
    error = told(text)
    assert error.place.field == field
    assert words in str(error)
    assert error.place.line is not None
    assert error.place.line >= line_with(text, "[[event]]")


def test_the_line_of_a_hit_is_its_own() -> None:
    text = FULL_SESSION.replace('"left 2.2 in, low 0.1 in"', '"left 2.2, low 0.1"')
    error = told(text)
    assert error.place.line == line_with(text, "left 2.2, low 0.1")
    assert error.place.field == "event[2].hits[4].hole"


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ('kind = "shot"', "nearest known is 'shots'"),
        ("", "an event has no kind"),
        ("kind = 7", "not a kind of event"),
        ('kind = "rest moved"\nclicks = "3"', "which way and how many clicks"),
        ('kind = "rest moved"\nclicks = "left 3, right 2"', "which way and how many clicks"),
        ('kind = "rest moved"\nmeasured = "left 5 in"', "cannot be right"),
        ('kind = "bolts turned"\nboth_bolts = "1/2"', "which way and how many turns"),
        ('kind = "bolts turned"\nboth_bolts = "out 1/0"', "which way and how many turns"),
        ('kind = "nock turned"\nturned = "20 deg"', "which way the nock was turned"),
        ('kind = "nock point moved"\nmeasured = "left 1/32 in"', "only up or down"),
        ('kind = "nock point moved"', "does not say what was done"),
        ('kind = "build changed"', "does not say what was done"),
        ('kind = "proof group"\ndistance = "20 yd"\npurpose = "fun"\nhits = []', "before"),
        ('kind = "tear"\nshaft = 1\nstate = "bare"\ndistance = "6 ft"\ntail = "right 30 in"', ""),
        ('kind = "point changed"\nmass = "1 gr"', "cannot be right"),
        ('kind = "undo"\nundoes = "x"', "nothing to undo"),
        ('kind = "bow check"\ncam_timing = "yes"', "true or false"),
        ('kind = "flex check"\nshaft = 1', "has no sound"),
    ],
)
def test_other_events_that_cannot_be(body: str, words: str) -> None:
    error = told(f"{BARE_SESSION}\n[[event]]\n{body}\n")
    assert words in str(error)
    assert (error.place.field or "").startswith("event[1]")
    assert error.place.line is not None


class TestScope:
    @pytest.mark.parametrize(
        ("right", "wrong", "words"),
        [
            ('release = "release aid"', 'release = "fingers"', "off the fingers is not supported yet"),
            ('bow = "compound"', 'bow = "recurve"', "a recurve is not supported yet"),
        ],
    )
    def test_what_is_not_supported_is_refused_at_set_up(self, right: str, wrong: str, words: str) -> None:
        error = told(BARE_SESSION.replace(right, wrong))
        assert isinstance(error, ScopeError)
        assert words in str(error)


def test_who_writes_millimetres_reads_them_first() -> None:
    inch = re.sub('throat_length = ".*?"', 'throat_length = "300 mm"', BARE_SESSION, count=1)
    metric = inch.replace('units = "inch"', 'units = "metric"')
    assert re.search(r"\d in \([\d.]+ mm\)", str(told(inch)))
    assert re.search(r"\d mm \([\d. /]+ in\)", str(told(metric)))


class TestTheFileItself:
    def test_missing(self, tmp_path: Path) -> None:
        with pytest.raises(SessionFileError, match="no such file"):
            read(tmp_path / "none.toml")
        with pytest.raises(SessionFileError, match="no such file"):
            append(tmp_path / "none.toml", {"kind": "settings good"})

    def test_a_folder(self, tmp_path: Path) -> None:
        with pytest.raises(SessionFileError, match="a folder"):
            read(tmp_path)
        with pytest.raises(SessionFileError, match="a folder"):
            append(tmp_path, {"kind": "settings good"})

    @pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs a pipe with a name")
    def test_not_a_file_of_text(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(SessionFileError, match="not a file of text"):
            read(tmp_path / "pipe")

    @pytest.mark.parametrize("content", [b"", b"  \n\n"])
    def test_empty(self, tmp_path: Path, content: bytes) -> None:
        path = tmp_path / "empty.toml"
        path.write_bytes(content)
        with pytest.raises(SessionFileError, match="empty"):
            read(path)
        with pytest.raises(InputError):
            append(path, {"kind": "settings good"})
        assert path.read_bytes() == content

    def test_not_utf8(self, tmp_path: Path) -> None:
        path = tmp_path / "latin.toml"
        path.write_bytes(BARE_SESSION.replace("shed bow", "Bügel").encode("latin-1"))
        with pytest.raises(SessionFileError, match="not UTF-8") as error:
            read(path)
        assert error.value.place.line == line_with(BARE_SESSION, "shed bow")

    def test_a_byte_order_mark_is_let_pass(self, tmp_path: Path) -> None:
        path = tmp_path / "mark.toml"
        path.write_bytes(b"\xef\xbb\xbf" + BARE_SESSION.encode())
        assert read(path).scope.hand.value == "right"
        append(path, {"kind": "settings good"})
        assert len(read(path).events) == 1

    def test_unreadable(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        path = tmp_path / "closed.toml"
        path.write_text(BARE_SESSION)
        path.chmod(0)
        if os.geteuid() == 0:  # nothing is closed to the superuser, so the refusal is played

            def refuse(_self: Path) -> bytes:
                raise PermissionError(13, "Permission denied")

            monkeypatch.setattr(Path, "read_bytes", refuse)
        with pytest.raises(SessionFileError, match="cannot be read"):
            read(path)

    def test_a_future_version_is_left_alone(self, tmp_path: Path) -> None:
        path = tmp_path / "future.toml"
        text = BARE_SESSION.replace("format = 1", "format = 7") + '\n[weather]\nwind = "none"\n'
        path.write_text(text)
        with pytest.raises(SessionFileError, match=r"format 7.*newer spinewright") as error:
            read(path)
        assert error.value.place.line == line_with(text, "format = 7")
        with pytest.raises(SessionFileError, match="format 7"):
            append(path, {"kind": "settings good"})
        assert path.read_text() == text

    @pytest.mark.parametrize("version", ["0", "-1", '"1"', "1.5", "true"])
    def test_a_version_that_never_was(self, version: str) -> None:
        assert "write format = 1" in str(told(BARE_SESSION.replace("format = 1", f"format = {version}")))

    def test_no_version(self) -> None:
        assert "which format" in str(told(BARE_SESSION.replace("format = 1", "")))

    def test_half_written_at_any_place_says_so_or_names_what_is_missing(self) -> None:
        ends_badly = 0
        for end in range(1, len(FULL_SESSION), 17):
            try:
                parse(FULL_SESSION[:end], "half.toml")
            except InputError as error:
                sentence = str(error)
                assert sentence.startswith("half.toml")
                ends_badly += "ends in the middle" in sentence
        assert ends_badly > 50

    def test_a_broken_line_in_the_middle(self) -> None:
        text = BARE_SESSION.replace('let_off = "78 %"', 'let_off = "78 %')
        error = told(text)
        assert "not TOML" in str(error)
        assert error.place.line == line_with(text, "let_off")

    def test_a_key_written_twice(self) -> None:
        text = BARE_SESSION.replace("[bow.rest]", 'let_off = "70 %"\n[bow.rest]')
        assert "the key 'let_off' is written twice" in str(told(text))

    @pytest.mark.parametrize("text", ["[" * 5000, "a = " + "[" * 5000, "a = " + "{b=" * 3000])
    def test_a_tower_of_brackets(self, text: str) -> None:
        told(text)

    def test_events_not_as_a_list(self) -> None:
        assert "[[event]]" in str(told(BARE_SESSION + '\n[event]\nkind = "undo"\n'))


def sentence_of(text: str) -> str:
    """What is said of a file that may be fine: its error, or its name."""
    try:
        return parse(text, "mine.toml").source
    except InputError as error:
        return str(error)


class TestAnyDamage:
    @settings(max_examples=60, deadline=None)
    @given(
        start=st.integers(0, len(FULL_SESSION)),
        length=st.integers(0, 40),
        new=st.one_of(
            st.text(max_size=6), st.sampled_from(["-", "nan", "inf", "1e999", "[[", "\x00", '"', "left", "= ["])
        ),
    )
    def test_a_damaged_file_is_read_or_told_in_a_sentence(self, start: int, length: int, new: str) -> None:
        assert sentence_of(FULL_SESSION[:start] + new + FULL_SESSION[start + length :]).startswith("mine.toml")

    @pytest.mark.parametrize("wrong", ["3", '"x"', "[]", "{}", "true", "2026-05-03", "[{}]", "nan", '[["a"]]', "-1"])
    def test_a_wrong_type_anywhere_is_told_or_does_no_harm(self, wrong: str) -> None:
        lines = FULL_SESSION.splitlines()
        for number, line in enumerate(lines):
            name, equals, _ = line.partition(" = ")
            if equals and not line.startswith((" ", "#")) and not line.endswith("["):
                damaged = [*lines]
                damaged[number] = f"{name} = {wrong}"
                assert sentence_of("\n".join(damaged)).startswith("mine.toml")


class TestTemplate:
    def test_left_blank_it_says_what_is_missing(self) -> None:
        error = told(template())
        assert "[scope] has no release" in str(error)

    def test_filled_in_it_loads(self) -> None:
        session = parse(template(filled=True))
        assert session.events == ()
        assert session.start.build.bushing is None

    def test_every_needed_key_left_blank_is_named(self) -> None:
        filled = template(filled=True).splitlines()
        needed = [number for number, line in enumerate(filled) if "  # needed; " in line]
        assert len(needed) > 20
        for number in needed:
            name = filled[number].split(" = ")[0]
            blank = [*filled]
            blank[number] = f'{name} = ""'
            error = told("\n".join(blank))
            assert f"has no {name}" in str(error)
            assert error.place.line == number + 1

    def test_the_cautions_stand_at_the_top(self) -> None:
        head = template().split("[scope]")[0]
        for words in ("broadhead on an unfletched shaft", "backstop", "helper", "dust mask", "flex", "5 gr per lb"):
            assert words in head

    def test_a_file_that_is_there_is_never_touched(self, tmp_path: Path) -> None:
        path = tmp_path / "mine.toml"
        create(path, template())
        with pytest.raises(StoreError, match="there already"):
            create(path, "other")
        assert path.read_text() == template()
        with pytest.raises(StoreError, match="could not be written"):
            create(tmp_path / "no folder" / "mine.toml", template())


@pytest.mark.parametrize(
    ("right", "wrong", "words"),
    [
        ('let_off = "78 %"', 'let_off = "78 %"\nlet_off = "80 %"', "the key 'let_off' is written twice"),
        ("[owned]", "[owned]\n[bow]", "the section [bow] is written twice"),
        ('{ draw = "7 in",', '{ draw = "7 in", draw = "8 in",', "the key 'draw' is written twice"),
    ],
)
def test_what_is_written_twice_is_named(right: str, wrong: str, words: str) -> None:
    error = told(BARE_SESSION.replace(right, wrong, 1))
    assert words in str(error)
    assert error.place.line == line_with(BARE_SESSION, right) + wrong.count("\n")


@pytest.mark.parametrize("side", ["left", "right", "high", "low"])
def test_a_side_as_a_key_says_where_it_belongs(side: str) -> None:
    hit = f'hits = [ {{ shaft = 1, state = "bare", {side} = "1 in" }} ]'
    error = told(BARE_SESSION + event("shots", 'distance = "20 yd"', hit))
    assert f"'{side}' is not a key of event 1, hits 1" in str(error)
    assert f'write hole = "{side} 1.2 in" (where the point went in) or nock_leans = "{side} 2 deg"' in str(error)
    tear = ("shaft = 1", 'state = "bare"', 'distance = "6 ft"', f'{side} = "1 in"')
    assert f'write tail = "{side} 0.8 in"' in str(told(BARE_SESSION + event("tear", *tear)))
