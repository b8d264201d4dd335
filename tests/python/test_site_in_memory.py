"""A site from Python values, without a file, and back to one."""

import datetime
import pickle
import tomllib
from pathlib import Path

import numpy as np
import pint
import pytest

import flowdoubt as fd

DEMO = Path(__file__).parents[2] / "notebooks" / "demo"
SECTIONS = tomllib.loads(fd.Site.STARTER)
READINGS = {
    "transit_time_us": [261.0, 261.1, 261.05],
    "time_difference_ns": [150.0, 151.0, 150.4],
    "temperature_degC": [18.0, 18.1, 18.05],
}


def with_wall(wall):
    return {**SECTIONS, "pipe": {**SECTIONS["pipe"], "wall": wall}}


def result(site):
    evaluation = site.evaluate(READINGS)
    return evaluation.estimate, evaluation.standard_uncertainty


def test_a_dictionary_and_its_text_give_the_same_bits():
    demo = fd.Site.load(DEMO / "site.toml")
    made = fd.Site.from_dict(tomllib.loads(demo.text))
    again = fd.Site.from_toml(made.to_toml())
    readings = DEMO / "readings.csv"
    expected = demo.evaluate(readings)
    for site in (made, again, pickle.loads(pickle.dumps(made))):
        found = site.evaluate(readings)
        assert found.estimate == expected.estimate
        assert found.standard_uncertainty == expected.standard_uncertainty
        assert site.stated == demo.stated
    # the demonstration has its own comments, and keeps them
    assert demo.to_toml() == demo.text


def test_sections_by_name_make_the_site_of_the_dictionary():
    by_name = fd.Site(**SECTIONS)
    assert type(by_name) is fd.Site
    assert by_name.text == fd.Site.from_dict(SECTIONS).text
    assert result(by_name) == result(fd.Site.from_toml(fd.Site.STARTER))


EQUAL = [
    ("7.1 mm", "7.1 mm"),
    ((7.1, "mm"), "7.1 mm"),
    ((np.float64(7.1), "mm"), "7.1 mm"),
    ((7, "mm"), "7 mm"),
    (pint.Quantity(7.1, "mm"), "7.1 mm"),
    (pint.Quantity(0.28, "inch"), "0.28 in"),
    (pint.Quantity(0.0071, "m"), "0.0071 m"),
    ({"readings": ([7.1, 7.2], "mm")}, {"readings": ["7.1 mm", "7.2 mm"]}),
    ({"readings": pint.Quantity([7.1, 7.2], "mm")}, {"readings": ["7.1 mm", "7.2 mm"]}),
    ({"readings": np.array(["7.1 mm", "7.2 mm"])}, {"readings": ["7.1 mm", "7.2 mm"]}),
    (
        {"grid": (np.array([[7.1, 7.2, 7.3], [7.0, 7.1, 7.2]]), "mm")},
        {"grid": [["7.1 mm", "7.2 mm", "7.3 mm"], ["7.0 mm", "7.1 mm", "7.2 mm"]]},
    ),
    (
        {"value": (7.1, "mm"), "half_width": (1, "%"), "shape": "rectangular", "evidence": None},
        {"value": "7.1 mm", "half_width": "1 %", "shape": "rectangular"},
    ),
]


@pytest.mark.parametrize(("wall", "text"), EQUAL, ids=range(len(EQUAL)))
def test_values_of_python_are_what_their_text_is(wall, text):
    assert result(fd.Site.from_dict(with_wall(wall))) == result(fd.Site.from_dict(with_wall(text)))


# as many kinds of quantities as sites state; equal within the rounding of a conversion
PINT = [
    ("liquid", "absolute_pressure", (4.0, "bar"), "4 bar"),
    ("liquid", "temperature", (20.0, "degC"), "20 degC"),
    ("liquid", "temperature", (293.15, "kelvin"), "293.15 K"),
    ("liquid", "temperature_difference", (0.5, "delta_degC"), "0.5 K"),
    ("path", "wedge_angle", (40.0, "degree"), "40 deg"),
    ("path", "frequency", (1.0, "megahertz"), "1 MHz"),
    ("path", "wedge_sound_speed", (2430.0, "meter/second"), "2430 m/s"),
    ("path", "wedge_sound_speed", (8748.0, "kilometer/hour"), "2430 m/s"),
    ("meter", "calibration_factor", (1.002, "dimensionless"), "1.002"),
    ("meter", "calibration_factor", (100.2, "percent"), "100.2 %"),
    ("meter", "cable_length", (20.0, "meter"), "20 m"),
    ("meter", "wedge_delay", (15.0, "microsecond"), "15 us"),
    ("pipe", "roughness", (0.1, "millimeter"), "0.1 mm"),
    ("pipe", "wall_sound_speed_per_kelvin", (-0.6, "meter/second/kelvin"), "-0.6 m/s/K"),
]


@pytest.mark.parametrize(("section", "key", "quantity", "text"), PINT)
def test_quantities_of_pint_keep_their_units(section, key, quantity, text):
    def made(value):
        keys = {**SECTIONS[section], key: value}
        if key == "temperature":
            keys.pop("thermometer")
        readings = dict(READINGS)
        if key == "temperature":
            readings.pop("temperature_degC")
        site = fd.Site.from_dict({**SECTIONS, section: keys})
        return site.evaluate(readings).estimate

    assert made(pint.Quantity(*quantity)) == pytest.approx(made(text), rel=1e-12)


REFUSED = [
    (
        7.1,
        fd.UnitError,
        "pipe.wall: `7.1` is not a quantity; allowed: a number and a unit of length",
    ),
    ((7.1, "ns"), fd.UnitError, "pipe.wall"),
    ({"value": (7.1, "mm"), "half_width": 0.1, "shape": "rectangular"}, fd.UnitError, "half_width"),
    (pint.Quantity(7.1, "kg"), fd.UnitError, "pipe.wall: found 'kilogram'"),
    (float("nan"), fd.InputError, "pipe.wall: found nan; allowed: finite numbers"),
    ((float("inf"), "mm"), fd.InputError, "finite"),
    (True, fd.InputError, "pipe.wall: found boolean `true`"),
    (b"7 mm", fd.InputError, "pipe.wall"),
    ({7: "mm"}, fd.InputError, "names of sections and keys"),
    (object, fd.InputError, "a number with its unit such as (7.1, 'mm')"),
    ((9, "m"), fd.RangeError, "pipe.wall"),
]


@pytest.mark.parametrize(("wall", "kind", "words"), REFUSED, ids=range(len(REFUSED)))
def test_what_is_no_statement_is_refused_with_its_path(wall, kind, words):
    with pytest.raises(kind) as raised:
        fd.Site.from_dict(with_wall(wall))
    assert words in str(raised.value)
    assert raised.value.field.startswith("pipe.wall")


def test_flags_numbers_and_dates_stand_where_a_file_has_them():
    meter = {**SECTIONS["meter"], "wedge_delay_covers_couplant": True, "calibration_factor": 1.002}
    site = fd.Site(
        **{
            **SECTIONS,
            "meter": meter,
            "site": {"name": datetime.date(2026, 3, 31), "coverage_probability": 0.9},
        }
    )
    assert (site.name, site.coverage_probability) == ("2026-03-31", 0.9)
    assert "wedge_delay_covers_couplant = true" in site.text


def test_other_arguments_say_what_is_allowed():
    for wrong in (3, "site.toml", [1]):
        with pytest.raises(fd.InputError, match=r"allowed: a mapping of sections"):
            fd.Site.from_dict(wrong)
        with pytest.raises(fd.InputError, match=r"Site\.load\(path\) for a file"):
            fd.Site(wrong)
    with pytest.raises(fd.InputError, match=r"pipes: unknown key"):
        fd.Site(**SECTIONS, pipes={})


def test_hostile_names_and_values_stay_what_they_are():
    evil = 'x"\n[pipe]\nwall = "1 mm"\u202e#'
    with pytest.raises(fd.FlowdoubtError):
        fd.Site.from_dict({**SECTIONS, evil: {evil: evil}})
    site = fd.Site.from_dict({**SECTIONS, "site": {"name": evil}})
    assert tomllib.loads(site.to_toml())["site"]["name"] == evil
    assert result(site) == result(fd.Site.from_dict(SECTIONS))
    with pytest.raises(fd.FlowdoubtError):
        fd.Site.from_dict({**SECTIONS, "site": {"name": "\ud800"}})
