"""The checks one by one, each with its story, and each silent where nothing is wrong."""

from __future__ import annotations

import pytest
from bill.sheets import frame, shop

from kitting.bill import explode, gaps, open_builds
from kitting.bill.amounts import CHECK as AMOUNTS
from kitting.bill.checks import CHECKS
from kitting.bill.figures import CHECK as TORQUES
from kitting.reading.catalogs import catalogs, explain
from kitting.tables.extra_sheets import (
    CIRCUITS,
    FIGURES,
    MEASURED,
    OPENINGS,
    OUTWORK,
    TEMPORARY,
)

CATALOGS = catalogs()
STAGES = """
    assembly | stage | after | work_days
    engine   | block |       | 2
    engine   | front | block | 1
    engine   | run   | front | 5
"""
BUILDS = "build|assembly|priority\nB1|engine|1"
EXTRA = {t.name: t for t in (OPENINGS, CIRCUITS, TEMPORARY, OUTWORK, MEASURED)}


def engine(**sheets: str):
    """Return an engine shop with these sheets."""
    extra = {n: frame(EXTRA[n], sheets.pop(n)) for n in EXTRA if n in sheets}
    return shop(**{"stages": STAGES, "builds": BUILDS} | sheets).replaced(**extra)


def told(of, check: str) -> list[tuple[str, str, str]]:
    """Return joint, role and message of what one check finds."""
    rows = gaps(of, explode(of, open_builds(of)), CATALOGS)
    rows = rows[rows["check"] == check]
    return list(rows[["joint", "role", "message"]].itertuples(index=False, name=None))


def at(of, check: str) -> list[tuple[str, str]]:
    """Return joint and role of what one check finds."""
    return [row[:2] for row in told(of, check)]


def joints(*rows: str) -> str:
    return "\n".join(("assembly|stage|joint|kind|joins|count|disturbances", *rows))


def lines(*rows: str) -> str:
    return "\n".join(("assembly|stage|joint|role|part|quantity", *rows))


def parts(*rows: str) -> str:
    return "\n".join(("part|name|family|single_use", *rows))


# --- the seven stories -------------------------------------------------------------------------

GALLERY = joints("engine|block|gallery plugs|threaded_port_taper|main gallery to outside|{}|1")
PLUGS = lines(
    "engine|block|gallery plugs|seal|TS|1",
    "engine|block|gallery plugs|clamp|PLG|1",
)
PLUG_PARTS = parts("TS|thread sealant|sealant|", "PLG|taper plug R 1/4|plug|reuse")
MAP = """
    assembly | casting | opening      | size  | opens_to | ends_in
    engine   | block   | gallery 1    | R 1/4 | oil      | gallery plugs
    engine   | block   | gallery 2    | R 1/4 | oil      | gallery plugs
    engine   | block   | gallery rear | R 1/4 | oil      | {}
"""


def test_story_gallery_plug_left_out_after_cleaning() -> None:
    """Three openings of the gallery, two plugs: the third is named before the engine is in."""
    two = engine(joints=GALLERY.format(2), lines=PLUGS, parts=PLUG_PARTS, openings=MAP.format(""))
    [(joint, _, message)] = told(two, "open ports")
    assert joint == ""
    assert "gallery rear of block opens to oil and ends in nothing" in message
    short = engine(
        joints=GALLERY.format(2), lines=PLUGS, parts=PLUG_PARTS,
        openings=MAP.format("gallery plugs"),
    )  # fmt: skip
    [(joint, role, message)] = told(short, "open ports")
    assert (joint, role) == ("gallery plugs", "seal")
    assert "3 openings end here and the joint has 2 places" in message
    whole = engine(
        joints=GALLERY.format(3), lines=PLUGS, parts=PLUG_PARTS,
        openings=MAP.format("gallery plugs"),
    )  # fmt: skip
    assert told(whole, "open ports") == []


def test_story_gallery_plug_taken_out_by_the_machine_shop() -> None:
    """The cleaning job takes the plugs out: they return, come back, or are bought."""
    given = {
        "joints": GALLERY.format(3),
        "parts": PLUG_PARTS + "\nOW|clean the block|outwork|",
        "lines": PLUGS + "\nengine|block|||OW|1",
    }
    sheet = "assembly|job|joint|part|fate\nengine|OW|gallery plugs|PLG|{}"
    [(joint, role, message)] = told(engine(outwork=sheet.format(""), **given), "outwork")
    assert (joint, role) == ("gallery plugs", "clamp")
    assert "nobody says whether it returns" in message
    for fate in ("returns", "comes back", "bought"):
        assert told(engine(outwork=sheet.format(fate), **given), "outwork") == []
    given["lines"] = lines("engine|block|gallery plugs|seal|TS|1", "engine|block|||OW|1")
    [(joint, _, message)] = told(engine(outwork=sheet.format("bought"), **given), "outwork")
    assert joint == "gallery plugs"
    assert "no line asks for it" in message
    unlisted = sheet.format("returns").replace("|OW|", "|OTHER|")
    [(_, _, message)] = told(engine(outwork=unlisted, **given), "outwork")
    assert "ask for the list of what is taken off" in message


def test_story_magnetic_plug_without_its_ring() -> None:
    """The carrier is issued complete and comes without its o-ring: the seal is its own line."""
    given = {
        "joints": joints("engine|front|chip detector|o_ring_in_groove|plug to oil sump|1|1"),
        "parts": parts("MP|magnetic plug, complete|plug|reuse", "OR|o-ring 113|o-ring|never"),
    }
    bare = engine(lines=lines("engine|front|chip detector|clamp|MP|1"), **given)
    assert ("chip detector", "seal") in at(bare, "roles")
    ringed = engine(
        lines=lines(
            "engine|front|chip detector|clamp|MP|1", "engine|front|chip detector|seal|OR|1"
        ),
        **given,
    )
    assert ("chip detector", "seal") not in at(ringed, "roles")


FEED = joints("engine|front|turbo feed|banjo|feed pipe to turbo, oil|1|{}")
FEED_PARTS = parts("BJ|banjo bolt M12|banjo bolt|reuse", "CW|copper washer 12|washer|{}")


@pytest.mark.parametrize(
    ("washers", "closings", "use", "check"),
    [
        (2, 1, "never", ""),
        (2, 2, "never", ""),  # the bill multiplies: four are asked for
        (1, 1, "never", "companions"),  # one eye needs two
        (2, 2, "reuse", "single use"),  # a crushed washer is not fitted again
        (2, 2, "", "single use"),
    ],
)
def test_story_turbo_feed_washers(washers: int, closings: int, use: str, check: str) -> None:
    """Eyes + 1 washers for a bolt, and new ones at each closing, dry fit included."""
    of = engine(
        joints=FEED.format(closings),
        parts=FEED_PARTS.format(use),
        lines=lines(
            "engine|front|turbo feed|clamp|BJ|1", f"engine|front|turbo feed|seal|CW|{washers}"
        ),
    )
    for name in ("companions", "single use"):
        assert (at(of, name) == [("turbo feed", "seal")]) is (name == check), name
    if use == "never":
        asked = explode(of, open_builds(of)).required
        assert asked.loc[asked["part"] == "CW", "quantity"].tolist() == [washers * closings]


def test_story_belt_stays_while_the_pump_changes() -> None:
    """A pulley chosen by an option and a belt that is not: 52 inches did not fit."""
    given = {
        "joints": joints("engine|front|drive|belt_or_chain_drive|crank to pump|1|1"),
        "options": "assembly|option|choices|default\nengine|pump|standard; high|standard",
        "parts": parts(
            "P1|pump pulley|pulley|reuse", "P2|pump pulley, large|pulley|reuse",
            "B52|belt 52 in|belt|", "B53|belt 53 in|belt|",
        ),
    }  # fmt: skip
    heading = "assembly|stage|joint|role|part|quantity|when\n"
    pulleys = (
        "engine|front|drive|locate|P1|1|pump=standard\nengine|front|drive|locate|P2|1|pump=high\n"
    )
    [(joint, role, message)] = told(
        engine(lines=heading + pulleys + "engine|front|drive|locate|B52|1|", **given),
        "follows option",
    )
    assert (joint, role) == ("drive", "locate")
    assert "belt 52 in does not" in message
    both = (
        "engine|front|drive|locate|B52|1|pump=standard\nengine|front|drive|locate|B53|1|pump=high"
    )
    assert told(engine(lines=heading + pulleys + both, **given), "follows option") == []


def test_story_surplus_clip() -> None:
    """A clip left over is expected when the set says so; too few is told per pin."""
    given = {
        "joints": joints("engine|block|pistons|ring_to_piston_pin|piston to rod|4|1"),
        "parts": parts(
            "PIN|gudgeon pin|pin|reuse", "CLIP|pin circlip|circlip|never", "KIT|clip set|set|"
        ),
    }
    rows = ("engine|block|pistons|clamp|PIN|1", "engine|block|pistons|clamp|CLIP|{}")
    assert at(engine(lines=lines(*rows).format(1), **given), "companions") == [("pistons", "clamp")]
    assert at(engine(lines=lines(*rows).format(2), **given), "companions") == []
    of = engine(
        lines=lines(*rows, "engine|block|||KIT|1").format(2),
        sets="set|part|quantity|fits\nKIT|CLIP|8|needed\nKIT|CLIP|1|left over",
        **given,
    )
    [(_, _, message)] = told(of, "left over")
    assert "clip set will leave over 1 pin circlip (left over)" in message


def test_story_lock_pins_left_in() -> None:
    """A pin that goes in needs a stage in which it comes out, or a word that it does."""
    given = {
        "joints": joints("engine|front|timing|belt_or_chain_drive|cam to crank|1|1"),
        "parts": parts("LP|locking pin|tool|", "BLT|timing belt|belt|"),
    }
    rows = ("engine|front|timing|tool|LP|1", "engine|front|timing|locate|BLT|1")
    assert at(engine(lines=lines(*rows), **given), "temporary") == [("timing", "tool")]
    heading = "assembly|stage|joint|role|part|quantity|note\n"
    noted = heading + "engine|front|timing|tool|LP|1|out before turning over"
    assert told(engine(lines=noted, **given), "temporary") == []
    sheet = "assembly|part|stage|joint|removed_in\nengine|LP|front|timing|{}"
    assert (
        told(engine(lines=lines(*rows), temporary=sheet.format("run"), **given), "temporary") == []
    )
    [(_, _, never)] = told(
        engine(lines=lines(*rows), temporary=sheet.format(""), **given), "temporary"
    )
    assert "never comes out" in never
    [(_, _, wrong)] = told(
        engine(lines=lines(*rows), temporary=sheet.format("later"), **given), "temporary"
    )
    assert 'comes out in "later", which is no stage' in wrong


def test_story_bracket_of_one_hand() -> None:
    """One bracket of a pair on the bill: the other is named; chosen by an option, none is."""
    given = {
        "joints": joints("engine|run|mounts|mount_or_bracket|engine to bearers|1|1"),
        "parts": parts("ML|engine bracket LH|bracket|", "MR|engine bracket RH|bracket|"),
    }
    left = "engine|run|mounts|locate|ML|1"
    [(joint, role, message)] = told(engine(lines=lines(left), **given), "hands")[:1]
    assert (joint, role) == ("mounts", "locate")
    assert "the rh one is missing" in message
    both = engine(lines=lines(left, left.replace("ML", "MR")), **given)
    assert told(both, "hands") == []


# --- the other checks --------------------------------------------------------------------------


def test_a_removed_device_leaves_its_ports_listed() -> None:
    """An opening that ends in a joint of another option is open until a blank closes it."""
    given = {
        "joints": "assembly|stage|joint|kind|when\n"
        "engine|front|oil feed|banjo|induction=turbo\nengine|front|cover|cover_with_limiters|",
        "options": "assembly|option|choices|default\nengine|induction|turbo; none|none",
        "openings": "assembly|casting|opening|opens_to|ends_in|when\n"
        "engine|block|turbo feed|oil|oil feed|{}\nengine|block|drain|oil|open: breather|",
    }
    given["openings"] = given["openings"].format("")
    [(joint, role, message)] = told(engine(**given), "open ports")
    assert (joint, role) == ("oil feed", "seal")
    assert "which these options leave out: blank it" in message
    given["openings"] = given["openings"].replace("oil feed|\n", "oil feed|induction=turbo\n")
    assert told(engine(**given), "open ports") == []


EGR = {
    "joints": "assembly|stage|joint|kind|when\n"
    "engine|front|gas feed|flange_flat_gasket|egr=fitted\n"
    "engine|front|gas return|flange_flat_gasket|egr=fitted\n"
    "engine|front|cooler water|hose_barb_clamp|egr=fitted\n"
    "engine|front|gas blank|flange_flat_gasket|egr=removed\n"
    "engine|front|cover|flange_flat_gasket|",
    "options": "assembly|option|choices|default\nengine|egr|fitted; removed|fitted",
    "openings": "assembly|casting|opening|opens_to|ends_in|count\n"
    "engine|head|gas port|exhaust|gas feed{}|1\nengine|manifold|gas inlet|air|gas return|1\n"
    "engine|block|water out|coolant|cooler water|1\nengine|pump|water back|coolant|cooler water|1\n"
    "engine|block|cover|oil|cover|1",
}


def test_a_removed_device_leaves_each_of_its_ports_listed() -> None:
    """All four ports of a removed valve and its cooler, on four castings, and no other."""
    given = EGR | {"openings": EGR["openings"].format("")}
    removed = "build|assembly|options\nB1|engine|egr=removed"
    found = told(engine(builds=removed, **given), "open ports")
    assert [message.split(" opens")[0] for *_, message in found] == [
        "gas port of head", "gas inlet of manifold", "water out of block", "water back of pump",
    ]  # fmt: skip
    assert all("which these options leave out: blank it" in message for *_, message in found)
    fitted = removed.replace("removed", "fitted")
    open_at = at(engine(builds=fitted, **given), "open ports")
    assert open_at == [("cooler water", "seal")]  # two ports end in a joint of one place


def test_a_port_may_end_in_a_blank_instead() -> None:
    """With its blank named beside the pipe, a port is closed under either option."""
    given = EGR | {"openings": EGR["openings"].format("; gas blank")}
    for option, ports in (("removed", 3), ("fitted", 1)):
        builds = f"build|assembly|options\nB1|engine|egr={option}"
        found = told(engine(builds=builds, **given), "open ports")
        assert len(found) == ports
        assert not any("gas port" in message for *_, message in found)
    misspelt = EGR | {"openings": EGR["openings"].format("; gas blnk")}
    builds = "build|assembly|options\nB1|engine|egr=removed"
    [message, *_] = [m for *_, m in told(engine(builds=builds, **misspelt), "open ports")]
    assert 'ends in "gas blnk", which is no joint; nearest: gas blank' in message


def test_an_opening_that_ends_in_no_joint_is_told_with_the_nearest() -> None:
    """A misspelt joint is no joint."""
    of = engine(
        joints=GALLERY.format(3),
        openings="assembly|casting|opening|ends_in\nengine|block|front|galery plugs",
    )
    [(_, _, message)] = told(of, "open ports")
    assert "which is no joint; nearest: gallery plugs" in message


def test_two_media_need_a_seal_between() -> None:
    """Oil meets the outside at a bracket with no seal: told; with a gasket: silent."""
    given = {
        "joints": joints("engine|run|blank|mount_or_bracket|oil gallery to outside|1|1"),
        "parts": parts("SC|screw M8 x 20|screw|", "GK|gasket|gasket|never"),
    }
    bolt = "engine|run|blank|clamp|SC|2"
    assert at(engine(lines=lines(bolt), **given), "boundaries") == [("blank", "seal")]
    sealed = engine(lines=lines(bolt, "engine|run|blank|seal|GK|1"), **given)
    assert told(sealed, "boundaries") == []


HOLES = """
    assembly | casting | opening | size   | opens_to | ends_in | count
    engine   | case    | long    | M8x60  |          | cover   | 4
    engine   | case    | short   | M8x30  | {}       | cover   | 9
"""
COVER = joints("engine|front|cover|flange_flat_gasket|cover to case|1|1")
BOLTS = parts(
    "S30|socket screw M8 x 30, ISO 4762|screw|", "S60|socket screw M8 x 60, ISO 4762|screw|",
    "W8|plain washer M8, ISO 7089|washer|", "TS|thread sealant|sealant|",
)  # fmt: skip


@pytest.mark.parametrize(
    ("short", "long", "right"), [(9, 4, True), (9, 3, False), (13, 0, False), (10, 4, False)]
)
def test_fasteners_equal_holes_by_length(short: int, long: int, right: bool) -> None:
    """Nine short and four long holes: thirteen short screws are wrong though the sum is right."""
    rows = [f"engine|front|cover|clamp|S30|{short}"]
    rows += [f"engine|front|cover|clamp|S60|{long}"] if long else []
    of = engine(joints=COVER, parts=BOLTS, lines=lines(*rows), openings=HOLES.format(""))
    assert (told(of, "holes") == []) is right


def test_threads_into_oil_need_sealer() -> None:
    """A wet bolt hole without thread sealer is told; a dry one is not."""
    bolts = "engine|front|cover|clamp|S30|9"
    wet, dry = HOLES.format("oil"), HOLES.format("")
    given = {"joints": COVER, "parts": BOLTS}
    assert at(engine(lines=lines(bolts), openings=wet, **given), "wet threads") == [
        ("cover", "seal")
    ]
    assert told(engine(lines=lines(bolts), openings=dry, **given), "wet threads") == []
    sealed = lines(bolts, "engine|front|cover|seal|TS|1")
    assert told(engine(lines=sealed, openings=wet, **given), "wet threads") == []


@pytest.mark.parametrize(
    ("short", "long", "washers", "right"),
    [
        (9, 4, 13, True),  # one under each head
        (9, 4, 26, True),  # one on either side
        (9, 0, 13, False),  # the long screws were lost
        (9, 4, 9, False),
        (0, 0, 13, False),
    ],
)
def test_washers_agree_with_screws(short: int, long: int, washers: int, right: bool) -> None:
    """Washers tell of a lost line of screws, and the other way round."""
    counts = (("S30", short), ("S60", long), ("W8", washers))
    rows = [f"engine|front|cover|clamp|{part}|{n}" for part, n in counts if n]
    of = engine(joints=COVER, parts=BOLTS, lines=lines(*rows))
    assert (at(of, "fastener counts") == []) is right


def test_a_joint_without_washers_among_joints_with_them() -> None:
    """Four covers, three with washers: the fourth is asked about."""
    names = ("cover", "lid", "plate", "cap")
    rows = [f"engine|front|{n}|clamp|S30|4" for n in names]
    rows += [f"engine|front|{n}|clamp|W8|4" for n in names[:3]]
    of = engine(
        joints=joints(*(f"engine|front|{n}|flange_flat_gasket||1|1" for n in names)),
        parts=BOLTS,
        lines=lines(*rows),
    )
    [(joint, role, message)] = told(of, "fastener counts")
    assert (joint, role) == ("cap", "clamp")
    assert "3 of 3 other joints" in message


def test_joints_alike_but_for_a_number_have_the_same() -> None:
    """Injector 3 has one ring where its fellows have two; a joint of another option counts."""
    rows = [f"engine|front|injector {n}|seal|{p}|1" for n in (1, 2, 3) for p in ("OR", "BU")]
    given = {
        "joints": joints(*(f"engine|front|injector {n}|o_ring_in_groove||1|1" for n in (1, 2, 3))),
        "parts": parts("OR|o-ring 012|o-ring|never", "BU|back-up ring 012|ring|never"),
    }
    assert told(engine(lines=lines(*rows), **given), "alike joints") == []
    [(joint, role, message)] = told(engine(lines=lines(*rows[:-1]), **given), "alike joints")
    assert (joint, role) == ("injector 3", "seal")
    assert "backup ring" in message


def test_joints_of_a_kind_tell_what_is_usual() -> None:
    """Three of four flanges have a lock washer: the fourth is asked about."""
    names = ("cover", "lid", "plate", "cap")
    rows = [f"engine|front|{n}|clamp|S30|4" for n in names]
    rows += [f"engine|front|{n}|secure|LW|4" for n in names[:3]]
    rows += ["engine|front|cap|secure|TL|1"]
    of = engine(
        joints=joints(*(f"engine|front|{n}|flange_flat_gasket||1|1" for n in names)),
        parts=BOLTS + "\nLW|spring washer M8|lock washer|\nTL|threadlocker|threadlocker|",
        lines=lines(*rows),
    )
    [(joint, role, message)] = told(of, "alike joints")
    assert (joint, role) == ("cap", "secure")
    assert "lock washer at 3 of 3" in message


def test_the_joint_itself_names_what_is_missing() -> None:
    """A dowel in the words of the joint and none among its lines; two lengths and one line."""
    given = {"parts": BOLTS + "\nGSK|gasket|gasket|\nDW|dowel 6 mm|dowel|"}
    heading = "assembly|stage|joint|role|part|quantity|note\n"
    of = engine(
        joints=joints("engine|front|cover|flange_flat_gasket|cover to case on dowels|1|1"),
        lines=heading + "engine|front|cover|locate|GSK|1|\n"
        "engine|front|cover|clamp|S30|9|two screw lengths by the map",
        **given,
    )
    assert at(of, "named in joins") == [("cover", "locate"), ("cover", "clamp")]


def test_companions_are_told_once_for_a_role() -> None:
    """A head joint with a wrench and no angle gauge; nothing when both are in one tool's name."""
    head = joints("engine|block|head|head_or_pressure_joint|head to block|1|1")
    given = {"joints": head, "parts": parts("TW|torque wrench|tool|", "AG|{}|tool|")}
    given["parts"] = given["parts"].format("stud driver")
    of = engine(lines=lines("engine|block|head|tool|TW|1"), **given)
    [(joint, role, message)] = [t for t in told(of, "companions") if t[1] == "tool"]
    assert (joint, role) == ("head", "tool")
    assert "an angle gauge" in message
    given["parts"] = given["parts"].replace("stud driver", "angle gauge and thread chaser")
    both = engine(
        lines=lines("engine|block|head|tool|TW|1", "engine|block|head|tool|AG|1"), **given
    )
    assert [t for t in told(both, "companions") if t[1] == "tool"] == []


def test_a_hose_by_the_metre_needs_two_clamps_in_each_place() -> None:
    """A measured hose counts once in each place."""
    hose = joints("engine|run|hoses|hose_on_barb_or_bead|pump to cooler|3|1")
    given = {
        "joints": hose,
        "parts": "part|name|family|unit\nH|hose 32 mm|hose|mm\nC|hose clip|hose clamp|piece",
    }
    for clips, right in ((2, True), (1, False)):
        of = engine(
            lines=lines("engine|run|hoses|seal|H|200", f"engine|run|hoses|clamp|C|{clips}"), **given
        )
        assert (at(of, "companions") == []) is right


def test_a_part_that_no_bill_asks_for_is_placed_by_its_words() -> None:
    """The sump gasket has a number and no line: it may belong to the sump."""
    of = engine(
        joints=joints(
            "engine|front|sump|flange_flat_gasket|sump to block|1|1",
            "engine|front|rocker cover|flange_flat_gasket|cover to head|1|1",
        ),
        parts=parts(
            "G1|sump gasket|gasket|", "G2|rocker cover gasket|gasket|", "S|screw M8|screw|"
        ),
        lines=lines("engine|front|rocker cover|seal|G2|1", "engine|front|sump|clamp|S|8"),
    )
    [(joint, role, message)] = told(of, "unasked part")
    assert (joint, role) == ("sump", "seal")
    assert "sump gasket (G1) has a number and no bill asks for it" in message


def test_stand_ins_and_contents_of_sets_are_asked_for() -> None:
    """Neither a stand-in nor a set that could be bought is lost; a surplus content may be."""
    of = engine(
        joints=joints("engine|front|sump|flange_flat_gasket|sump to block|1|1"),
        parts=parts(
            "G1|gasket|gasket|", "G2|gasket, later|gasket|", "KIT|set|set|", "X|plug|plug|"
        ),
        lines=lines("engine|front|sump|seal|G1|1"),
        sets="set|part|quantity|fits\nKIT|G1|1|needed\nKIT|X|1|left over",
        stand_ins="part|stand_in|kind\nG1|G2|supersedes",
    )
    [(_, _, message)] = told(of, "unasked part")
    assert "plug (X) has a number" in message


def test_sizes_that_a_measurement_chooses_from_are_asked_for() -> None:
    """By name, or as a family where none is named; a shim of no such joint is not."""
    of = engine(
        joints=joints("engine|front|sump|flange_flat_gasket|sump to block|1|1"),
        parts=parts(
            "G1|gasket|gasket|", "S10|shim 1.0|shim|", "S11|shim 1.1|shim|", "R1|ring|Snap Ring|",
            "X|shim 2.0|shim|",
        ),
        lines=lines("engine|front|sump|seal|G1|1"),
        measured=(
            "assembly|stage|joint|parts|family\nengine|block|shaft|S10; S11|\n"
            "engine|block|gear||snap ring"
        ),
    )  # fmt: skip
    [(_, _, message)] = told(of, "unasked part")
    assert "shim 2.0 (X) has a number" in message


def test_a_long_list_of_parts_is_told_in_one_line() -> None:
    """A catalogue of parts says nothing about one bill."""
    many = "\n".join(f"P{n}|thing {n}|thing|" for n in range(40))
    of = engine(
        joints=joints("engine|front|sump|flange_flat_gasket|sump to block|1|1"),
        parts=parts(many),
        lines=lines("engine|front|sump|seal|P0|1"),
    )
    [(joint, _, message)] = told(of, "unasked part")
    assert joint == ""
    assert message.startswith("39 parts")


def test_what_a_past_build_used_is_asked_for_again() -> None:
    """Used or missed at the joint before and not on the bill now; being late is no such case."""
    given = {
        "joints": joints("engine|front|sump|flange_flat_gasket|sump to block|1|1"),
        "parts": parts("G1|gasket|gasket|", "RTV|silicone|sealant|", "TS|thread sealant|sealant|"),
        "lines": lines("engine|front|sump|seal|G1|1"),
        "builds": "build|assembly|finished|priority\nB1|engine||1\nOLD|engine|2024-03-01|1",
        "used": "entry|build|joint|role|part|quantity\n1|OLD|sump|seal|G1|1\n2|OLD|sump|seal|RTV|1",
        "forgotten": "entry|build|joint|role|part|quantity|cause\n1|OLD|sump||TS|1|{}",
    }
    forgotten = given.pop("forgotten")
    late = told(engine(forgotten=forgotten.format("late"), **given), "used before")
    assert [(j, r) for j, r, _ in late] == [("sump", "seal")]
    assert "1 of 1 past builds needed silicone (RTV) here" in late[0][2]
    missed = told(engine(forgotten=forgotten.format("not in the bill"), **given), "used before")
    assert len(missed) == 2


def test_contents_beyond_the_need_point_to_a_lost_line() -> None:
    """The set holds a sump gasket that nothing asks for; a set without a list is told."""
    given = {
        "joints": joints("engine|front|sump|flange_flat_gasket|sump to block|1|1"),
        "parts": parts("G1|sump gasket|gasket|", "KIT|gasket set|set|"),
        "lines": lines("engine|front|||KIT|1", "engine|front|sump|clamp|KIT|0"),
    }
    listed = engine(sets="set|part|quantity|fits\nKIT|G1|1|needed", **given)
    [(joint, role, message)] = told(listed, "sets")
    assert (joint, role) == ("sump", "seal")
    assert "holds 1 more of sump gasket" in message
    [(_, _, message)] = told(engine(**given), "sets")
    assert "contents of gasket set are not listed" in message


def test_sizes_are_measured_before_they_are_ordered() -> None:
    """A shim whose size nobody measured is told; with a word that it was, it is not."""
    given = {
        "joints": joints("engine|front|shaft|selective_snap_ring_or_shim|shaft to case|1|1"),
        "parts": parts("SH|shim 0.20 mm|shim|reuse"),
    }
    heading = "assembly|stage|joint|role|part|quantity|note\n"
    row = heading + "engine|front|shaft|clamp|SH|1|{}"
    assert at(engine(lines=row.format(""), **given), "measure first") == [("shaft", "clamp")]
    assert told(engine(lines=row.format("measured 3 March"), **given), "measure first") == []


def test_upper_calls_for_lower() -> None:
    """Two grooves in the notes and one ring on the bill."""
    heading = "assembly|stage|joint|role|part|quantity|note\n"
    upper = "engine|block|liners|seal|R1|1|upper groove"
    lower = "\nengine|block|liners|seal|R2|1|lower groove"
    given = {
        "joints": joints("engine|block|liners|wet_cylinder_liner|liner to block|4|1"),
        "parts": parts("R1|o-ring 246 FKM|o-ring|", "R2|o-ring 246 NBR|o-ring|"),
    }
    assert at(engine(lines=heading + upper, **given), "hands") == [("liners", "seal")]
    assert told(engine(lines=heading + upper + lower, **given), "hands") == []


def test_figures_have_a_source_and_angles_a_gauge() -> None:
    """A blank figure is told; an angle asks for its gauge at the joint or in the stage."""
    heading = "assembly|stage|joint|role|part|quantity|source|note\n"
    row = heading + "engine|block|caps|figure||0|{}|{}\n{}"
    given = {
        "joints": joints("engine|block|caps|bearing_shell_in_saddle|caps to block|5|1"),
        "parts": parts("AG|angle gauge|tool|"),
    }
    assert at(engine(lines=row.format("", "", ""), **given), "figures") == [("caps", "figure")]
    angled = row.format("manual p 3-6", "30 N m then 60 degrees", "{}")
    assert at(engine(lines=angled.format(""), **given), "figures") == [("caps", "tool")]
    gauge = "engine|block||tool|AG|1||"
    assert told(engine(lines=angled.format(gauge), **given), "figures") == []


@pytest.mark.parametrize(
    ("value", "unit", "wrench", "found"),
    [
        ("30", "N m", "torque wrench 20-100 N m", 0),
        ("9", "N m", "torque wrench 20-100 N m", 1),
        ("89", "lbf in", "torque wrench 5 to 25 Nm", 0),  # 10.06 N m
        ("89", "lbf ft", "torque wrench 5 to 25 Nm", 1),  # 120.7 N m
        ("9", "N m", "torque wrench", 0),  # no range said
        ("", "N m", "torque wrench 20-100 N m", 0),  # look it up first
    ],
)
def test_a_torque_lies_within_a_wrench(value: str, unit: str, wrench: str, found: int) -> None:
    """The range in the wrench's name holds the figure, units converted."""
    of = engine(
        joints=COVER,
        parts=parts(f"TW|{wrench}|tool|"),
        lines=lines("engine|front|cover|tool|TW|1"),
    )
    blank = frame(FIGURES, f"assembly|joint|what|unit\nengine|cover|torque|{unit}")
    sheet = blank.assign(value=float(value) if value else float("nan"))
    assert len(told(of.replaced(figures=sheet), "figures")) == found


def test_silicone_and_anaerobic_are_kept_apart() -> None:
    """At one joint a warn, on the same part a note, at the exhaust never."""
    given = {
        "parts": parts(
            "RTV|silicone sealant, grey|sealant|", "ANA|anaerobic flange sealant|sealant|"
        )
    }
    one = joints("engine|front|cover|flange_liquid_gasket|cover to block|1|1")
    rows = ("engine|front|cover|seal|RTV|1", "engine|front|cover|seal|ANA|1")
    assert at(engine(joints=one, lines=lines(*rows), **given), "chemistry") == [("cover", "seal")]
    two = one + "\nengine|front|carrier|flange_liquid_gasket|carrier to {}|1|1"
    apart = (rows[0], rows[1].replace("cover", "carrier"))
    near = engine(joints=two.format("block"), lines=lines(*apart), **given)
    assert "keep them from touching" in told(near, "chemistry")[0][2]
    far = engine(joints=two.format("gearbox"), lines=lines(*apart), **given)
    assert told(far, "chemistry") == []
    hot = joints("engine|front|cover|exhaust_flange_hot|elbow to manifold|1|1")
    assert at(engine(joints=hot, lines=lines(rows[0]), **given), "chemistry") == [("cover", "seal")]


def test_circuits_have_fluid_amount_filter_and_bleeding() -> None:
    """Every blank is named; fills are counted against fluid and filters on the bill."""
    given = {
        "joints": COVER,
        "parts": "part|name|family|unit\nOIL|oil|oil|ml\nFIL|oil filter|filter|piece",
        "lines": lines("engine|run|||OIL|14000", "engine|run|||FIL|2"),
    }
    heading = "assembly|circuit|stage|part|quantity|fills|filter|bleed\n"
    bare = engine(circuits=heading + "engine|oil|run|||||", **given)
    [(_, _, message)] = told(bare, "circuits")
    for word in ("its fluid", "the amount", "its filter", "how it is bled"):
        assert word in message
    right = heading + "engine|oil|run|OIL|{}|3|FIL|none"
    assert told(engine(circuits=right.format(4500), **given), "circuits") == []
    [(_, _, message)] = told(engine(circuits=right.format(5000), **given), "circuits")
    assert "fluid on the bill for 3 fills" in message
    given["lines"] = given["lines"].replace("FIL|2", "FIL|1")
    [(_, _, message)] = told(engine(circuits=right.format(4500), **given), "circuits")
    assert "filters on the bill (2 for 3 fills)" in message


@pytest.mark.parametrize(("life", "found"), [(1, 1), (5, 0), (30, 0)])
def test_an_opened_tube_lasts_as_long_as_its_work(life: int, found: int) -> None:
    """Two stages of two and one days use one tube: five calendar days is enough, one is not."""
    of = engine(
        joints=COVER + "\nengine|block|sump|flange_liquid_gasket|sump to block|1|1",
        parts=f"part|name|family|unit|open_days\nRTV|silicone|sealant|ml|{life}",
        lines=lines("engine|block|sump|seal|RTV|9", "engine|front|cover|seal|RTV|5"),
    )
    assert len(told(of, "sealant clock")) == found


def test_a_part_may_not_come_after_its_joint_is_closed() -> None:
    """The gasket of a joint closed in the front stage is asked for in the run stage."""
    given = {"joints": COVER, "parts": parts("GK|gasket|gasket|")}
    late = engine(lines=lines("engine|run|cover|seal|GK|1"), **given)
    assert at(late, "two views") == [("cover", "seal")]
    early = engine(lines=lines("engine|block|cover|seal|GK|1"), **given)
    assert told(early, "two views") == []
    nowhere = engine(joints=COVER.replace("|front|", "|later|"))
    assert "is not planned" in told(nowhere, "two views")[0][2]


def test_counts_and_closings_are_at_least_one() -> None:
    """A joint that is never closed is told, not silently dropped."""
    of = engine(joints=joints("engine|front|cover|flange_flat_gasket|cover to case|1|0"))
    assert "closed 0 times" in told(of, "single use")[0][2]


def test_every_check_is_data_and_explained() -> None:
    """Functions and catalog agree by name; each has a rule, a source and a way to waive it."""
    names = CATALOGS.checks["check"].tolist()
    assert set(names) - set(CHECKS) == {"waiver", AMOUNTS, TORQUES}
    assert set(CHECKS) <= set(names)
    marks = set(CATALOGS.checks["rule"])
    assert {f"R{n}" for n in range(1, 19)} <= marks
    for name in names:
        told_of = explain(name)
        assert "source: " in told_of
        assert "to waive: " in told_of
    assert explain("no such check") == ""


def test_a_shop_without_the_optional_sheets_hears_nothing_of_them() -> None:
    """No map, no circuits, no outwork list: no findings from those checks."""
    of = engine(joints=GALLERY.format(3), lines=PLUGS, parts=PLUG_PARTS)
    for name in ("open ports", "holes", "wet threads", "circuits", "outwork"):
        assert told(of, name) == []
