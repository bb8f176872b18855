"""Seals, bolts, pulling screws, margins and stock on the command line, and the bench on a job's page."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from bellhousing.cli import main as cli
from bellhousing.fits.measures import shipped_measures
from bellhousing.road.bench import MEASURED
from bellhousing.tasks.bench import bench_of_file

GROOVE = ["seal", "groove", "--floor", "0.984 in", "--depth", "0.118 in", "--width", "0.187 in"]
PULL = ["pull", "3/8-16", "--engagement", "0.5 in", "--apart", "7 in"]


def _json(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    assert cli.run([*arguments, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert isinstance(found, dict)
    return found


def test_a_measured_groove_gives_its_dash_size(capsys: pytest.CaptureFixture[str]) -> None:
    """With squeeze, stretch and fill; the bore says the same as the depth."""
    found = _json(GROOVE, capsys)
    ring = found["rings"][0]
    assert (ring["ring"], ring["fits"], found["text"][:9]) == ("-214", True, "Fit -214.")
    assert ring["squeeze"] == pytest.approx((0.139 - 0.118) / 0.139, abs=1e-3)
    assert 0.0 < ring["fill"] < 0.85
    assert ring["stretch"] == pytest.approx(0.0, abs=1e-3)
    same = _json([*GROOVE[:4], "--bore", "1.220 in", "--width", "0.187 in"], capsys)
    assert same["rings"] == found["rings"]


def test_a_square_cut_ring_on_hand_fills_more(capsys: pytest.CaptureFixture[str]) -> None:
    """By 4/π, whatever its squeeze."""
    hand = [*GROOVE, "--ring", "0.984 in", "0.139 in"]
    round_, square = _json(hand, capsys)["rings"][0], _json([*hand, "--square"], capsys)["rings"][0]
    assert square["fill"] / round_["fill"] == pytest.approx(1.2732, abs=1e-3)
    assert square["squeeze"] == round_["squeeze"]


def test_what_age_leaves_and_that_torque_gives_none_back(capsys: pytest.CaptureFixture[str]) -> None:
    """Set and shrunk the ring stands clear; micrometres come back by torque."""
    aged = ["seal", "aged", "--section", "0.139 in", "--depth", "0.112 in"]
    sound = _json(aged, capsys)
    assert sound["left_squeeze"] == sound["new_squeeze"]
    dead = _json([*aged, "--set", "80 %", "--shrink", "6 %", "--hardness", "90"], capsys)
    assert dead["left_squeeze"] < 0.0
    assert dead["seals"] is False
    assert "Only a new ring brings it back" in dead["torque"]
    gasket = _json(
        ["seal", "gasket", "--thickness", "0.015 in", "--shrink", "15 %", "--span", "60 mm"], capsys
    )
    assert gasket["regained_mm"] < 0.5 * gasket["lost_mm"]
    assert "Only a new gasket does" in gasket["text"]


def test_a_bolt_and_its_hole(capsys: pytest.CaptureFixture[str]) -> None:
    """Torque to preload, a torn thread gets an insert, the order of a flange goes across."""
    torque = _json(["bolt", "torque", "3/8-16", "--torque", "30 lb ft", "--finish", "dry"], capsys)
    assert torque["preload_low_n"] == pytest.approx(30 * 1.35582 * 0.96 / (0.27 * 0.009525), rel=1e-4)
    hole = ["bolt", "hole", "5/16-18", "--torque", "18 lb ft", "--finish", "dry", "--engagement"]
    assert _json([*hole, "0.75 in"], capsys)["holds"] is True
    torn = _json([*hole, "0.5 in", "--damaged", "4"], capsys)
    assert (torn["holds"], torn["insert"]) == (False, True)
    assert "wire insert" in torn["text"]
    assert _json(["bolt", "order", "6", "--torque", "20 lb ft"], capsys)["order"][:2] == [1, 4]


def test_a_ring_as_it_came_out_and_the_groove_for_a_new_one(capsys: pytest.CaptureFixture[str]) -> None:
    """Its section tells the set; the fluid's swelling adds; the groove of a textbook's example."""
    ring = ["seal", "aged", "--section", "0.125 in", "--depth", "0.09375 in"]
    told = _json([*ring, "--out", "0.120 in"], capsys)  # 0.005 of 0.03125: 16 %
    assert told["left_squeeze"] == pytest.approx(0.25 - 0.04, abs=1e-4)
    assert told == _json([*ring, "--set", "16 %"], capsys)
    more = _json([*ring, "--out", "0.120 in", "--swell", "5 %"], capsys)
    assert more["left_squeeze"] == pytest.approx(0.26, abs=1e-4)
    cut = _json(["seal", "cut", "--bore", "4 in", "--section", "0.140 in", "--squeeze", "20 %"], capsys)
    assert (cut["floor_in"], cut["width_in"]) == (3.776, 0.196)
    lying = _json(
        ["seal", "groove", "--floor", "0.75 in", "--width", "0.187 in", "--depth", "0.113 in"], capsys
    )
    first = lying["rings"][0]
    assert first["outside_in"] == pytest.approx(first["inside_in"] + 2 * first["section_in"])


def test_the_turn_of_a_bolt_its_sizes_and_the_order_of_a_cover(capsys: pytest.CaptureFixture[str]) -> None:
    """Angle by hand, 2π F L / (A E P); a cover is tightened from the middle, corners last."""
    found = _json(["bolt", "torque", "3/8-16", "--torque", "30 lb ft", "--length", "1 in"], capsys)
    by_hand = 360 * found["preload_high_n"] * 0.0254 / (0.0775 * 0.0254**2 * 207e9 * 0.0254 / 16)
    assert found["turn_degrees"][1] == pytest.approx(by_hand, rel=0.002)
    assert "from snug on" in found["text"]
    sizes = _json(["bolt", "thread", "5/16-24"], capsys)
    assert sizes["root_mm"] == pytest.approx(0.2629 * 25.4, abs=0.003)
    assert "24 to the inch" in sizes["text"]
    cover = _json(["bolt", "order", "10", "--rows", "2"], capsys)["order"]
    assert set(cover[:2]) == {3, 8}
    assert set(cover[-4:]) == {1, 5, 6, 10}


PACK = ["pack", "plates", "5", "--inner", "4.5 in", "--outer", "6.42 in", "--friction", "0.12"]
PISTON = ["--piston", "2.5 in", "6.07 in", "--springs", "250 lbf", "--pressure"]
BAND = ["pack", "band", "--wrap", "240 deg", "--drum", "600 mm", "--friction", "0.25", "--pressure", "60 psi"]


def test_a_pack_of_plates_from_its_own_measures(capsys: pytest.CaptureFixture[str]) -> None:
    """The trade's forward pack: 358 lb ft at 65 psi; what is enough is enough, one face fewer is not."""
    found = _json([*PACK, *PISTON, "65 psi", "--holds", "400 lb ft"], capsys)
    assert found["worn_lb_ft"] == pytest.approx(358, rel=0.01)
    assert found["worn_lb_ft"] < found["new_lb_ft"]
    assert found["outer_edge_psi"] < found["mean_psi"] < found["inner_edge_psi"] < found["most_psi"]
    assert (found["faces"], found["faces_needed"]) == (10, 12)
    enough = _json([*PACK, *PISTON, f"{found['pressure_needed_psi']} psi", "--holds", "400 lb ft"], capsys)
    assert enough["margin"] == pytest.approx(1.0, abs=2e-3)
    glazed = _json([*PACK, *PISTON, "65 psi", "--outer-friction", "0.06", "--holds", "200 lb ft"], capsys)
    assert glazed["uneven_lb_ft"] < 0.8 * found["new_lb_ft"]
    assert glazed["margin"] == pytest.approx(glazed["uneven_lb_ft"] / 200.0, rel=1e-3)
    spun = _json([*PACK, *PISTON, "65 psi", "--drum-speed", "4000 rpm"], capsys)
    assert spun["worn_lb_ft"] > found["worn_lb_ft"]
    assert _json([*PACK, *PISTON, "5 psi", "--holds", "400 lb ft"], capsys)["worn_lb_ft"] == 0.0
    assert 0.5 < _json([*PACK, *PISTON, "65 psi", "--lining", "sintered"], capsys)["heat_into_steel"] < 1.0


def test_a_band_each_way_of_turning(capsys: pytest.CaptureFixture[str]) -> None:
    """By the capstan equation; its steel bears so much; arms of a textbook's lever do not lock."""
    found = _json([*BAND, "--piston", "2 in"], capsys)
    grown = math.exp(0.25 * math.radians(240))
    assert found["with_drum_lb_ft"] / found["against_drum_lb_ft"] == pytest.approx(grown, rel=1e-3)
    assert found["with_drum_lb_ft"] * 1.35582 == pytest.approx(found["force_n"] * 0.3 * (grown - 1), rel=1e-3)
    steel = ["--steel", "100 mm", "3 mm", "--stress", "50 MPa", "--arms", "200", "50", "--lever", "950"]
    lever = _json([*BAND, "--piston", "6 in", "--pressure", "200 psi", *steel], capsys)
    assert (lever["grips_by_itself"], lever["most_tension_n"], lever["bears"]) == (False, 15000.0, False)
    assert lever["lever_n"] == pytest.approx(318.694, abs=0.01)
    assert _json([*BAND, "--piston", "2 in", "--arms", "100", "50"], capsys)["grips_by_itself"] is True


def test_an_option_left_out_leads_to_the_help_of_its_command(capsys: pytest.CaptureFixture[str]) -> None:
    """Not to that of the whole program."""
    assert cli.run(["bolt", "hole", "M8"]) == 2
    assert capsys.readouterr().err.rstrip().endswith("see bellhousing bolt hole --help")


def test_pulling_takes_turns_and_stops(capsys: pytest.CaptureFixture[str]) -> None:
    """Quarter turns alternately, stop and look when the torque is reached, never lever on the case face."""
    plan = _json(PULL, capsys)
    steps = " ".join(plan["steps"])
    assert "quarter turn on one, then a quarter turn on the other" in steps
    assert "stop and look" in steps
    assert plan["cautions"][0].startswith("Never lever on the case face")
    assert plan["torque_lb_ft"] * 1.35582 <= 0.10 * 0.009525 * plan["strips_at_n"]
    turns = _json([*PULL, "--turns", "0.5", "0.25", "--felt", "5 lb ft", "6 lb ft"], capsys)
    assert (turns["stop"], turns["now"]) == (False, "A quarter turn on the second screw.")
    hard = _json([*PULL, "--felt", f"{plan['torque_lb_ft'] + 0.1} lb ft", "1 lb ft"], capsys)
    assert hard["stop"] is True
    assert cli.run(PULL) == 0
    assert "Caution: Never lever on the case face" in capsys.readouterr().out


@pytest.mark.parametrize("box", ["A", "B"])
def test_margins_of_a_box(box: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Every gear at every pressure, and the heat of every change, as JSON and in words."""
    found = _json(["margins", box, "--pressure", "4 bar", "--pressure", "100"], capsys)
    assert found["pressures"] == [58.015, 100.0]
    assert all(len(group["held"]) == 2 for gear in found["gears"] for group in gear["groups"])
    assert {heat["into"] for heat in found["heats"]} >= {"second", "third"}
    assert [heat["into"] for heat in found["engagements"]] == ["drive", "reverse"]
    assert all(heat["energy_kj"] > 0.0 for heat in found["engagements"])
    assert cli.run(["margins", box]) == 0
    assert max(len(line) for line in capsys.readouterr().out.splitlines()) <= 96


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([*GROOVE[:4], "--depth", "5 psi", "--width", "0.187 in"], "unit of pressure"),
        ([*GROOVE[:4], "--width", "0.187 in"], "depth of the gland"),
        ([*GROOVE[:4], "--bore", "0.9 in", "--width", "0.187 in"], "no wider"),
        ([*GROOVE, "--dash", "999"], "no standard ring"),
        ([*GROOVE[:4], "--depth", "118 in", "--width", "0.187 in"], "impossible"),
        ([*GROOVE[:4], "--depth", "", "--width", "0.187 in"], "no figure for the depth"),
        (["bolt", "torque", "3/7-16"], "known are"),
        (["bolt", "torque", "3/8-16", "--torque", "3000"], "impossible"),
        (["bolt", "torque", "3/8-16", "--torque", "30 psi"], "unit of pressure"),
        (["bolt", "torque", "3/8-16", "--grade", "9"], "known are"),
        (["bolt", "hole", "M8", "--torque", "20", "--engagement", "9 mm", "--metal", "wood"], "say one of"),
        (["bolt", "order", "0"], "1 to 60"),
        ([*PACK, *PISTON, "65 kg"], "unit of mass"),
        ([*PACK, *PISTON, "65 psi", "--steels", "9"], "turn about"),
        ([*PACK, *PISTON, "65 psi", "--lining", "leather"], "say one of"),
        ([*PACK, "--piston", "6 in", "2.5 in", "--pressure", "65 psi"], "wider outside"),
        ([*BAND[:-2], "--pressure", "60 psi", "--piston", "2 in", "--wrap", "9 deg"], "impossible"),
        (["bolt", "order", "7", "--rows", "2"], "do not stand in 2 rows"),
        (
            ["seal", "aged", "--section", "0.139 in", "--depth", "0.116 in", "--out", "0.15 in"],
            "thicker than new",
        ),
        (["seal", "cut", "--bore", "0.15 in", "--section", "0.139 in"], "too thick"),
        (["pull", "--engagement", "0.5 in", "--apart", "0.1 in"], "impossible"),
        (["pull", "--engagement", "0.2 in", "--apart", "7 in", "--damaged", "9"], "no sound thread"),
        (["margins", "C"], "no box and no file"),
        (["margins", "A", "--pressure", "3 mm"], "unit of length"),
        (["margins", "A", "--pressure", "4000 psi"], "impossible"),
    ],
)
def test_bad_input_is_one_clear_line(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """And exit status 1."""
    assert cli.run(arguments) == 1
    error = capsys.readouterr().err
    assert said in error
    assert len(error.strip().splitlines()) == 1


def test_stock_is_booked_listed_and_used(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Through the command line, in a shop of its own."""
    shop = ["--shop", str(tmp_path / "shop")]
    washer = ["front-washer", "0.080 in", "--box", "A", *shop]
    assert cli.run(["stock", *shop]) == 0
    assert "Nothing is in stock" in capsys.readouterr().out
    assert _json(["stock", "add", *washer, "--count", "2"], capsys)["shelf"] == 2
    assert _json(["stock", "use", *washer], capsys)["shelf"] == 1
    assert cli.run(["stock", "use", *washer, "--count", "5"]) == 1
    assert "1 of them on the shelf" in capsys.readouterr().err
    assert cli.run(["stock", *shop, "--json"]) == 0
    (entry,) = json.loads(capsys.readouterr().out)
    assert (entry["part"], entry["shelf"], entry["mark"]) == ("front-washer", 1, "green")


def test_the_rule_is_chosen_by_an_option(
    tmp_path: Path, demo: Any, new_job: Callable[[], int], capsys: pytest.CaptureFixture[str]
) -> None:
    """For a figure near its limit, on the command line and by address; an unknown one is refused."""
    job, shop = str(new_job()), ["--shop", str(demo.folder)]
    assert cli.run(["measure", job, "front end play 0.0178 in", "--rule", "simple", *shop]) == 0
    assert "inside" in capsys.readouterr().out
    assert cli.run(["measure", job, "--budget", *shop]) == 0
    shown = capsys.readouterr().out
    assert "cannot tell" in shown
    assert "rule: inside or outside only when 95 in 100 sure" in shown
    assert cli.run(["measure", job, "--confidence", "55 %", *shop]) == 0
    assert "cannot tell" not in capsys.readouterr().out
    assert cli.run(["measure", job, "--rule", "guarded", "--confidence", "60 %", *shop]) == 1
    assert cli.run(["measure", job, "--rule", "perhaps", *shop]) == 2
    file = tmp_path / "fits.yaml"
    file.write_text(
        "stacks:\n  play:\n    name: Play\n    window: 0.006–0.018 in\n    measured: 0.021 in ± 0.002 in\n"
        "    members: [{part: washer, acts: closes, fitted: 0.072 in}]\n"
        "stock:\n  washer: {name: washer, sizes: [{size: 0.0755 in, stock: 1}]}\n",
        encoding="utf-8",
    )
    capsys.readouterr()
    verdicts = {}
    for rule in ("sure", "simple"):
        verdicts[rule] = _json(["fits", str(file), "--rule", rule], capsys)["stacks"][0]["verdict"]
    assert verdicts["sure"].startswith("cannot tell")
    assert verdicts["simple"].startswith("inside")
    assert cli.run(["fits", str(file), "--budget"]) == 0
    assert "Standard uncertainty of the clearance" in capsys.readouterr().out


def test_the_page_says_what_the_parts_explain(web: TestClient, new_job: Callable[[], int]) -> None:
    """Foretold beside read, in words, and what explains no reading says so; JSON holds the same."""
    job = new_job()
    for said in ("line pressure idle D 40 psi hot", "engagement of drive hot 0.8 s"):
        web.post(f"/job/{job}/note", data={"text": said})
    assert "What these parts explain" not in web.get(f"/job/{job}").text
    for said in ("pump face clearance 0.0045 in", "front end play 0.012 in"):
        web.post(f"/job/{job}/measure", data={"text": said})
    page = web.get(f"/job/{job}").text
    part = page.split('id="bench-road"')[1].split("</section>")[0]
    assert "explains it" in part
    assert "These parts" in part
    assert "Sound parts" in part
    assert "explains no reading: it moves no pressure" in part
    answer = web.get(f"/job/{job}/bench.json").json()
    assert answer["text"] in part
    assert any(reading["outcome"] == "explains it" for reading in answer["readings"])
    assert {entry["measure"]: bool(entry["changes"]) for entry in answer["numbers"]} == {
        "pump-face-clearance": True,
        "front-end-play": False,
    }


def test_burnt_plates_alone_are_held_against_the_complaint(
    web: TestClient, new_job: Callable[[], int]
) -> None:
    """Nothing measured, but looked at: slip in first is explained, and sound plates explain nothing."""
    job = new_job()
    web.post(f"/job/{job}/note", data={"text": "slips in first"})
    web.post(f"/job/{job}/note", data={"text": "forward plates burnt"})
    part = web.get(f"/job/{job}").text.split('id="bench-road"')[1].split("</section>")[0]
    assert "explains it" in part
    (reading,) = web.get(f"/job/{job}/bench.json").json()["readings"]
    assert reading["outcome"] == "explains it"


def test_the_page_lets_the_rule_be_chosen(web: TestClient, new_job: Callable[[], int]) -> None:
    """The one in use is marked, the others are one tap away; a name nobody knows is told."""
    job = new_job()
    web.post(f"/job/{job}/measure", data={"text": "front end play 0.0178 in"})
    assert "cannot tell" in web.get(f"/job/{job}").text
    simple = web.get(f"/job/{job}?rule=simple").text
    assert "<strong>taken as read</strong>" in simple
    assert "cannot tell, " not in simple.split('id="bench"')[1].split("</section>")[0]
    assert web.get(f"/job/{job}/measured.json?rule=simple").json()[0]["outcome"] == "inside"
    assert web.get(f"/job/{job}/measured.json?rule=perhaps").status_code == 422
    assert "No rule is called" in web.get(f"/job/{job}?rule=perhaps").text


def test_every_number_moves_a_reading_or_says_why_not() -> None:
    """Nothing measured is left without a word on what it explains."""
    for name, measure in shipped_measures().items():
        moves = name in MEASURED or name.endswith("-ring-reach")
        assert bool(measure.shows) != moves or measure.look, name


def test_pack_clearances_of_a_four_speed_explain_its_flare(tmp_path: Path) -> None:
    """A pack set far too wide comes on late: the flare is explained by it and by no sound one."""
    outcomes = {}
    for inches in ("0.045", "0.140"):
        file = tmp_path / f"{inches}.yaml"
        file.write_text(
            f"box: B\nfindings:\n  - 2-3 flares\nmeasured:\n  - rear pack clearance {inches} in\n",
            encoding="utf-8",
        )
        answer = bench_of_file(file)
        assert answer.numbers[0].changes == "how much fluid the clutch takes"
        (reading,) = answer.readings
        outcomes[inches] = reading.outcome
    assert outcomes == {"0.045": "does not", "0.140": "explains it"}
