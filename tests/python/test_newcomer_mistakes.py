"""The ordinary mistakes of a newcomer, each with all that is said of it.

A message names the file and the line where something stands, the key, what was found, what is
allowed and what to do; "..." stands for a list that goes on, LINE for the line that was changed.
All were made in the demonstration.
"""

import re

import pytest
from conftest import DEMO

import flowdoubt as fd

# what, what stands in the site file, what a newcomer wrote, what is said
IN_THE_SITE_FILE = [
    (
        "C for degrees Celsius",
        'kind = "water"',
        'kind = "water"\ntemperature = "70 C"',
        "site.toml:LINE: liquid.temperature: unknown unit `C` in `70 C`; allowed: K, "
        "degC, degF (did you mean degC?)",
    ),
    (
        "F for degrees Fahrenheit",
        'kind = "water"',
        'kind = "water"\ntemperature = "158 F"',
        "site.toml:LINE: liquid.temperature: unknown unit `F` in `158 F`; allowed: "
        "K, degC, degF (did you mean degF?)",
    ),
    (
        "a temperature without unit",
        'kind = "water"',
        'kind = "water"\ntemperature = "70"',
        "site.toml:LINE: liquid.temperature: `70` is not a quantity; allowed: a "
        "number and a unit of temperature (K, degC, degF)",
    ),
    (
        "a number where text with a unit is meant",
        'kind = "water"',
        'kind = "water"\ntemperature = 70',
        "site.toml:LINE: liquid.temperature: found integer `70`; allowed: text with "
        'a unit such as "7.1 mm", or a table with its uncertainty',
    ),
    (
        "kelvin meant as degrees Celsius",
        'kind = "water"',
        'kind = "water"\ntemperature = "20 K"',
        "site.toml:LINE: liquid.temperature: found 20 K; allowed: 150 K to 1000 K",
    ),
    (
        "gauge pressure",
        '"7.2 bar"',
        '"6.2 barg"',
        "site.toml:LINE: liquid.absolute_pressure: unknown unit `barg` in `6.2 "
        "barg`; allowed: Pa, kPa, MPa, GPa, bar, mbar, psi (that is above the "
        "atmosphere: pressures here are absolute, so add that of the atmosphere, "
        "about 1.01 bar)",
    ),
    (
        "pressure under its everyday name",
        "absolute_pressure",
        "pressure",
        "site.toml:LINE: liquid.pressure: unknown key: state absolute_pressure: what "
        "a gauge shows, plus that of the atmosphere, about 1.01 bar; allowed: kind, "
        "thermometer, table, vapour_pressure, ...",
    ),
    (
        "pressure zero",
        '"7.2 bar"',
        '"0 bar"',
        "site.toml:LINE: liquid.absolute_pressure: found 0 bar; allowed: 0.0001 bar to 10000 bar",
    ),
    (
        "decimal comma",
        '"3230 m/s"',
        '"3230,5 m/s"',
        "site.toml:LINE: pipe.wall_sound_speed: `3230,5 m/s` is not a quantity; "
        "allowed: a number and a unit of velocity (m/s, mm/s, ft/s, in/us, km/s), "
        "decimals with a point and not a comma",
    ),
    (
        "two decimal points",
        '"3230 m/s"',
        '"3.230.5 m/s"',
        "site.toml:LINE: pipe.wall_sound_speed: unknown unit `.5 m/s` in `3.230.5 "
        "m/s`; allowed: m/s, mm/s, ft/s, in/us, km/s",
    ),
    (
        "unit of another quantity",
        '"3230 m/s"',
        '"3230 mm"',
        "site.toml:LINE: pipe.wall_sound_speed: `3230 mm` is of kind length, not "
        "velocity; allowed: m/s, mm/s, ft/s, in/us, km/s",
    ),
    (
        "words for a number",
        '"3230 m/s"',
        '"about 3230 m/s"',
        "site.toml:LINE: pipe.wall_sound_speed: `about 3230 m/s` is not a quantity; "
        "allowed: a number and a unit of velocity (m/s, mm/s, ft/s, in/us, km/s)",
    ),
    (
        "no unit",
        '"3230 m/s"',
        '"3230"',
        "site.toml:LINE: pipe.wall_sound_speed: `3230` is not a quantity; allowed: a "
        "number and a unit of velocity (m/s, mm/s, ft/s, in/us, km/s)",
    ),
    (
        "negative sound speed",
        '"3230 m/s"',
        '"-3230 m/s"',
        "site.toml:LINE: pipe.wall_sound_speed: found -3230 m/s; allowed: 200 m/s to 20000 m/s",
    ),
    (
        "not a number",
        '"3230 m/s"',
        '"nan m/s"',
        "site.toml:LINE: pipe.wall_sound_speed: `nan m/s` is not a quantity; "
        "allowed: a number and a unit of velocity (m/s, mm/s, ft/s, in/us, km/s)",
    ),
    (
        "infinite",
        '"3230 m/s"',
        '"inf m/s"',
        "site.toml:LINE: pipe.wall_sound_speed: `inf m/s` is not a quantity; "
        "allowed: a number and a unit of velocity (m/s, mm/s, ft/s, in/us, km/s)",
    ),
    (
        "inside diameter stated",
        "[pipe]\n",
        '[pipe]\ninside_diameter = "388 mm"\n',
        "site.toml:LINE: pipe.inside_diameter: unknown key: the bore follows from "
        "the outside and the wall: state outside_circumference (by tape) or "
        "outside_diameter, and wall; allowed: material, wave, standard, size, "
        "schedule, liner_material, ...",
    ),
    (
        "wall under another name",
        "wall = ",
        "wall_thickness = ",
        "site.toml:LINE: pipe.wall_thickness: unknown key: state wall, in [pipe]; "
        "allowed: material, wave, standard, size, schedule, liner_material, ...",
    ),
    (
        "a slip in a key",
        "roughness",
        "rougness",
        "site.toml:LINE: pipe.rougness: unknown key, did you mean `roughness`?; "
        "allowed: material, wave, standard, size, schedule, liner_material, ...",
    ),
    (
        "a slip in a section",
        "[installation]",
        "[instalation]",
        "site.toml:LINE: instalation: unknown key, did you mean `installation`?; "
        "allowed: site, liquid, pipe, path, meter, profile, installation, correlation, "
        "in_situ_calibration, readings, instruments",
    ),
    (
        "diameter in m for mm",
        "outside_circumference = {",
        'outside_diameter = "406.4 m"\n#outside_circumference = {',
        "site.toml:LINE: pipe.outside_diameter: found 406.4 m; allowed: 0.003 m to 15 m",
    ),
    (
        "diameter beside circumference",
        "wall = ",
        'outside_diameter = "406.4 mm"\nwall = ',
        "site.toml:LINE: pipe.outside_diameter: outside_diameter beside "
        "outside_circumference; allowed: one of the two",
    ),
    (
        "wall in um for mm",
        "wall = {",
        'wall = "0.012 mm"\n#wall = {',
        "site.toml:LINE: pipe.wall: found 0.012 mm; allowed: 0.1 mm to 500 mm",
    ),
    (
        "wall thicker than the radius",
        "wall = {",
        'wall = "250 mm"\n#wall = {',
        "site.toml:LINE: pipe.inside_diameter: found -0.0943219373205 m; allowed: "
        "above 0: wall and lining must be thinner than the radius",
    ),
    (
        "wall of nothing",
        "wall = {",
        'wall = "0 mm"\n#wall = {',
        "site.toml:LINE: pipe.wall: found 0 mm; allowed: 0.1 mm to 500 mm",
    ),
    (
        "wall missing",
        "wall = {",
        "#wall = {",
        "site.toml:LINE: pipe.wall: missing; needed: wall thickness, as text with a "
        "unit or a table",
    ),
    (
        "one wall reading",
        '"8.74 mm", "8.81 mm", "8.69 mm", "8.77 mm", "8.83 mm", "8.72 mm", "8.79 '
        'mm", "8.85 mm", "8.70 mm", "8.76 mm", "8.81 mm", "8.73 mm"',
        '"8.74 mm"',
        "site.toml:LINE: pipe.wall: found 1 values; allowed: two readings or more",
    ),
    (
        "readings without quotation marks",
        '["1276.5 mm", "1277.5 mm"',
        '[1276.5, "1277.5 mm"',
        "site.toml:LINE: pipe.outside_circumference.readings: found floating point "
        "`1276.5`; allowed: text in quotation marks",
    ),
    (
        "uncertainty without saying which",
        'half_width = "1 %", shape = "rectangular", evidence = "carbon',
        'uncertainty = "1 %", evidence = "carbon',
        "site.toml:LINE: pipe.wall_sound_speed.uncertainty: unknown key: state "
        "standard_uncertainty, or expanded_uncertainty with coverage_factor, or "
        "half_width with shape: which of them the number is makes a factor of two; "
        "allowed: value, readings, grid, standard_uncertainty, expanded_uncertainty, "
        "coverage_factor, half_width, shape, dof, evidence, instrument, point, correlation, "
        "common, beyond, drift_per_year, age_years",
    ),
    (
        "half-width without shape",
        'half_width = "1 %", shape = "rectangular", evidence = "carbon',
        'half_width = "1 %", evidence = "carbon',
        "site.toml:LINE: pipe.wall_sound_speed: half_width alone; allowed: "
        'half_width with shape = "rectangular", "triangular" or "arcsine"',
    ),
    (
        "expanded uncertainty without coverage factor",
        'expanded_uncertainty = "0.90 %", coverage_factor = 2, dof = 50',
        'expanded_uncertainty = "0.90 %"',
        "site.toml:LINE: meter.calibration_factor: expanded_uncertainty alone; "
        "allowed: expanded_uncertainty with coverage_factor",
    ),
    (
        "coverage factor as text",
        "coverage_factor = 2, dof = 50",
        'coverage_factor = "2", dof = 50',
        'site.toml:LINE: meter.calibration_factor.coverage_factor: found string "2"; '
        "allowed: a number without a unit",
    ),
    (
        "negative uncertainty",
        'standard_uncertainty = "0.15 us"',
        'standard_uncertainty = "-0.15 us"',
        "site.toml:LINE: meter.wedge_delay.standard_uncertainty: found -0.15 us; "
        "allowed: 0 or above",
    ),
    (
        "two kinds of uncertainty",
        'standard_uncertainty = "0.15 us"',
        'standard_uncertainty = "0.15 us", half_width = "0.3 us"',
        "site.toml:LINE: meter.wedge_delay: uncertainty stated in more than one way; "
        "allowed: one of standard_uncertainty, expanded_uncertainty and half_width",
    ),
    (
        "an unknown shape",
        'shape = "triangular", evidence = "drawing',
        'shape = "gaussian", evidence = "drawing',
        "site.toml:LINE: path.wedge_angle.shape: found `gaussian`; allowed: "
        "rectangular, triangular, arcsine",
    ),
    (
        "percent of a temperature",
        'expanded_uncertainty = "0.30 K"',
        'expanded_uncertainty = "1 %"',
        "site.toml:LINE: liquid.temperature.instrument.expanded_uncertainty: `1 %` "
        "is of kind number, not temperature; allowed: K, degC, degF",
    ),
    (
        "uncertainty a thousand times",
        'standard_uncertainty = "0.15 us"',
        'standard_uncertainty = "1e299 us"',
        "site.toml:LINE: meter.wedge_delay: found 1e293; allowed: standard "
        "uncertainties of 0, or from 1e-100 to 1e100",
    ),
    (
        "degrees of freedom of next to nothing",
        "dof = 29",
        "dof = 1e-300",
        "site.toml:LINE: meter.zero_time_difference: found 1e-300; allowed: degrees "
        "of freedom of 0.1 or above",
    ),
    (
        "calibration factor in percent",
        '"1.000", expanded',
        '"98", expanded',
        "site.toml:LINE: meter.calibration_factor: found 98; allowed: 0.2 to 5",
    ),
    (
        "wedge angle at which nothing passes",
        '"39.6 deg"',
        '"75 deg"',
        "site.toml:LINE: wedge to wall: no refracted ray, sine of the angle would be "
        "1.2834; allowed: below 1, so a wedge angle below 48.82 deg, or a slower "
        "wave in the layer (shear instead of longitudinal)",
    ),
    (
        "angle in rad for deg",
        '"39.6 deg"',
        '"39.6 rad"',
        "site.toml:LINE: path.wedge_angle: found 39.6 rad; allowed: 0.00174532925199 "
        "rad to 1.55334303427 rad",
    ),
    (
        "an unknown basis",
        'basis = "timed"',
        'basis = "transit time"',
        "site.toml:LINE: path.basis: found `transit time`; allowed: timed, geometric, indicated",
    ),
    (
        "traverses as text",
        "traverses = 2",
        'traverses = "V"',
        'site.toml:LINE: path.traverses: found string "V"; allowed: a whole number, 0 or above',
    ),
    (
        "no traverse",
        "traverses = 2",
        "traverses = 0",
        "site.toml:LINE: path.traverses: found 0; allowed: 1 to 8",
    ),
    (
        "an unknown liquid",
        'kind = "water"',
        'kind = "oil"',
        "site.toml:LINE: liquid.kind: found `oil`; allowed: water, sea water, "
        "ethylene glycol, propylene glycol, tabulated, stated",
    ),
    (
        "an unknown flow unit",
        'flow_unit = "m3/h"',
        'flow_unit = "l/m"',
        "site.toml:LINE: site.flow_unit: unknown unit `l/m` in `l/m`; allowed: m3/s, "
        "m3/h, L/s, L/min, L/h, gal/min, Imp gal/min, ft3/s (did you mean L/min?)",
    ),
    (
        "mass flow",
        'flow_unit = "m3/h"',
        'flow_unit = "kg/h"',
        "site.toml:LINE: site.flow_unit: unknown unit `kg/h` in `kg/h`; allowed: "
        "m3/s, m3/h, L/s, L/min, L/h, gal/min, Imp gal/min, ft3/s (that is a mass "
        "flow: divide it by the density of the liquid)",
    ),
    (
        "coverage probability in percent",
        "coverage_probability = 0.95",
        "coverage_probability = 95",
        "site.toml:LINE: site.coverage_probability: found 95; allowed: strictly "
        "between 0 and 1, such as 0.95",
    ),
    (
        "coverage probability of next to one",
        "coverage_probability = 0.95",
        "coverage_probability = 0.9999999999999999",
        "site.toml:LINE: site.coverage_probability: found 1; allowed: strictly "
        "between 0 and 1, such as 0.95",
    ),
    (
        "a key twice",
        "traverses = 2",
        "traverses = 2\ntraverses = 4",
        "site.toml:LINE: not a valid site file: duplicate key `traverses`; allowed: "
        "each key once in a section",
    ),
    (
        "a missing quotation mark",
        'basis = "timed"',
        'basis = "timed',
        "site.toml:LINE: not a valid site file: text without its closing quotation mark",
    ),
    (
        "correlation of what does not exist",
        '"meter.cable_delay"',
        '"meter.cable"',
        "site.toml:LINE: correlation of meter.cable and meter.electronics_delay: "
        "found `meter.cable`, did you mean `meter.cable_delay`?; allowed: "
        "meter.calibration_factor, profile.law_factor, ...",
    ),
    (
        "correlation beyond one",
        "coefficient = 0.5",
        "coefficient = 1.5",
        "site.toml:LINE: correlation.coefficient: found 1.5; allowed: -1 to 1",
    ),
    (
        "thermometer of a stated liquid",
        'kind = "water"',
        'kind = "stated"\nsound_speed = "1440 m/s"\nkinematic_viscosity = "1.4 mm2/s"',
        "site.toml:LINE: liquid.thermometer: stated without liquid.temperature, so "
        "that it would have no effect; allowed: liquid.thermometer with "
        "liquid.temperature",
    ),
]

# what, the whole file of readings, what is said
IN_THE_READINGS = [
    (
        "an empty file",
        "",
        "readings.csv:1: readings: missing; needed: columns such as transit_time_us, "
        "time_difference_ns, temperature_degC, volume_flow_m3_h, velocity_m_s, "
        "current_mA, pulses, pulse_count, totaliser_m3",
    ),
    (
        "a heading alone",
        "time,transit_time_us,time_difference_ns,temperature_degC\n",
        "readings.csv:1: readings: found 0 values; allowed: two rows or more, to "
        "judge their scatter",
    ),
    (
        "one row",
        "time,transit_time_us,time_difference_ns,temperature_degC\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n",
        "readings.csv:1: readings: found 1 values; allowed: two rows or more, to "
        "judge their scatter",
    ),
    (
        "no heading",
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n"
        "2026-09-17T10:00:05,610.7153,799.31,8.12\n"
        "2026-09-17T10:00:10,610.7149,797.01,8.13\n"
        "2026-09-17T10:00:15,610.7155,798.55,8.12\n",
        "readings.csv:1: header: missing; needed: a first line with the names of the "
        "columns, such as transit_time_us,time_difference_ns,temperature_degC; found "
        "`2026-09-17T10:00:00`",
    ),
    (
        "a missing column",
        "time,transit_time_us,remark,temperature_degC\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n"
        "2026-09-17T10:00:05,610.7153,799.31,8.12\n"
        "2026-09-17T10:00:10,610.7149,797.01,8.13\n"
        "2026-09-17T10:00:15,610.7155,798.55,8.12\n",
        "readings.csv:1: readings.time_difference: missing; needed: a column of "
        'time_difference for basis = "timed"',
    ),
    (
        "a column without unit",
        "time,transit_time,time_difference_ns,temperature_degC\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n"
        "2026-09-17T10:00:05,610.7153,799.31,8.12\n"
        "2026-09-17T10:00:10,610.7149,797.01,8.13\n"
        "2026-09-17T10:00:15,610.7155,798.55,8.12\n",
        "readings.csv:1: column of readings: found `transit_time`, did you mean "
        "`transit_time_us`?; allowed: transit_time_us, time_difference_ns, "
        "temperature_degC, volume_flow_m3_h, velocity_m_s, current_mA, pulses, pulse_count, "
        "totaliser_m3, time, remark, others by a map (`columns`)",
    ),
    (
        "a column in an unknown unit",
        "time,transit_time_us,time_difference_ns,temperature_C\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n"
        "2026-09-17T10:00:05,610.7153,799.31,8.12\n"
        "2026-09-17T10:00:10,610.7149,797.01,8.13\n"
        "2026-09-17T10:00:15,610.7155,798.55,8.12\n",
        "readings.csv:1: temperature_C: unknown unit `C` in `C`; allowed: K, degC, "
        "degF (did you mean degC?); a column of something else is left out by `columns`, "
        "as a `remark`",
    ),
    (
        "a column twice",
        "time,transit_time_us,time_difference_ns,transit_time_us\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n"
        "2026-09-17T10:00:05,610.7153,799.31,8.12\n"
        "2026-09-17T10:00:10,610.7149,797.01,8.13\n"
        "2026-09-17T10:00:15,610.7155,798.55,8.12\n",
        "readings.csv:1: transit_time_us: two columns of transit_time; allowed: one "
        "column of each kind",
    ),
    (
        "a slip in a column",
        "time,transit_time_us,time_diference_ns,temperature_degC\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n"
        "2026-09-17T10:00:05,610.7153,799.31,8.12\n",
        "readings.csv:1: column of readings: found `time_diference_ns`, did you mean "
        "`time_difference_ns`?; allowed: "
        "transit_time_us, time_difference_ns, temperature_degC, volume_flow_m3_h, "
        "velocity_m_s, current_mA, pulses, pulse_count, totaliser_m3, time, remark, "
        "others by a map (`columns`)",
    ),
    (
        "points and commas",
        "time;transit_time_us;time_difference_ns;temperature_degC\n"
        "2026-09-17T10:00:00;610,7161;798,17;8,12\n"
        "2026-09-17T10:00:05;610.7153;799.31;8.12\n",
        "readings.csv:2: transit_time_us: `610,7161`, `610.7153` with a point in line 3, though "
        "other numbers have decimal commas; allowed: the sign before the decimals by `decimal`, "
        '"." or ","',
    ),
    (
        "thousands or decimals",
        "transit_time_us;time_difference_ns;temperature_degC\n610,716;798,170;8\n610,715;799,310;8\n",
        "readings.csv:2: transit_time_us: `610,716`, which may be decimals or thousands: no number "
        'of the table tells; allowed: the sign before the decimals by `decimal`, "." or ","',
    ),
    (
        "a table without names of ours",
        "Zeit;Laufzeit;Wärme\n10:00;610,7161;8,12\n10:01;610,7153;8,13\n",
        "readings.csv:1: header: none of the 3 columns, parted by semicolons, is one of readings; "
        "allowed: a first line with names such as transit_time_us, ...or a map of columns "
        "(`columns`; [readings.columns] of the site file); what parts the columns, `delimiter` "
        "says, and what stands before the names, `skip_rows`",
    ),
    (
        "a row too short",
        "time,transit_time_us,time_difference_ns,temperature_degC\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n2026-09-17T10:00:05,610.7153\n",
        "readings.csv:3: row of readings: found 2 values; allowed: 4, as in the header",
    ),
    (
        "a word among numbers",
        "time,transit_time_us,time_difference_ns,temperature_degC\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n2026-09-17T10:00:05,610.7153,no "
        "signal,8.12\n2026-09-17T10:00:10,610.7149,797.01,8.13\n"
        "2026-09-17T10:00:15,610.7155,798.55,8.12\n",
        "readings.csv:3: time_difference_ns: `no signal` is not a quantity; allowed: "
        "a finite number",
    ),
    (
        "an empty cell",
        "time,transit_time_us,time_difference_ns,temperature_degC\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n2026-09-17T10:00:05,610.7153,,8.12\n"
        "2026-09-17T10:00:10,610.7149,797.01,8.13\n"
        "2026-09-17T10:00:15,610.7155,798.55,8.12\n",
        "readings.csv:3: time_difference_ns: `` is not a quantity; allowed: a finite number",
    ),
    (
        "a decimal comma in quotation marks",
        "time,transit_time_us,time_difference_ns,temperature_degC\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n"
        '2026-09-17T10:00:05,610.7153,"799,31",8.12\n'
        "2026-09-17T10:00:10,610.7149,797.01,8.13\n"
        "2026-09-17T10:00:15,610.7155,798.55,8.12\n",
        "readings.csv:3: time_difference_ns: `799,31` is not a quantity; allowed: a "
        "finite number, decimals with a point and not a comma",
    ),
    (
        "ns for us",
        "time,transit_time_ns,time_difference_ns,temperature_degC\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n"
        "2026-09-17T10:00:05,610.7153,799.31,8.12\n"
        "2026-09-17T10:00:10,610.7149,797.01,8.13\n"
        "2026-09-17T10:00:15,610.7155,798.55,8.12\n",
        "readings.transit_time: found 6.1071545e-7 s; allowed: above the dead time, 2.7475e-5 s",
    ),
    (
        "us for ns",
        "time,transit_time_us,time_difference_us,temperature_degC\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n"
        "2026-09-17T10:00:05,610.7153,799.31,8.12\n"
        "2026-09-17T10:00:10,610.7149,797.01,8.13\n"
        "2026-09-17T10:00:15,610.7155,798.55,8.12\n",
        "readings.time_difference: found 798.26 us; allowed: -500 us to 500 us",
    ),
    (
        "kelvin for degrees Celsius",
        "time,transit_time_us,time_difference_ns,temperature_K\n"
        "2026-09-17T10:00:00,610.7161,798.17,8.12\n"
        "2026-09-17T10:00:05,610.7153,799.31,8.12\n"
        "2026-09-17T10:00:10,610.7149,797.01,8.13\n"
        "2026-09-17T10:00:15,610.7155,798.55,8.12\n",
        "liquid.temperature: found 8.1225 K; allowed: 150 K to 1000 K",
    ),
    (
        "a flow too high",
        "time,transit_time_us,time_difference_ns,temperature_degC\n"
        "2026-09-17T10:00:00,610.7161,79817,8.12\n"
        "2026-09-17T10:00:05,610.7153,79931,8.12\n"
        "2026-09-17T10:00:10,610.7149,79701,8.13\n"
        "2026-09-17T10:00:15,610.7155,79855,8.12\n",
        "mean velocity: found 241.360801624 m/s; allowed: magnitudes of 100 m/s at "
        "most; check the unit of the readings, diameter and wall",
    ),
]

# what, the call, what is said
IN_A_CALL = [
    (
        "a site by its path",
        'fd.Site("site.toml")',
        "Site: found 'site.toml'; allowed: Site.load(path) for a file, "
        "Site.from_toml(text) for the text of one, or sections: Site(site={...}, liquid={...}, "
        "pipe={...}, path={...})",
    ),
    (
        "a file that is not there",
        'fd.Site.load("nowhere.toml")',
        "cannot read nowhere.toml: No such file or directory (os error 2)",
    ),
    (
        "a folder for a file",
        'fd.Site.load("notebooks")',
        "cannot read notebooks: it is a folder",
    ),
    (
        "a number for a path",
        "fd.Site.load(3)",
        "path: found 3; allowed: the path of a file",
    ),
    (
        "readings that are none",
        "site.evaluate(None)",
        "readings: found None; allowed: the path of a CSV file, a mapping of names "
        "to columns, a pandas or polars data frame",
    ),
    (
        "a file of readings that is not there",
        'site.evaluate("nowhere.csv")',
        "cannot read nowhere.csv: No such file or directory (os error 2)",
    ),
    (
        "words among readings",
        'site.evaluate({"transit_time_us": ["a", "b"]})',
        "transit_time_us: not a column of numbers (could not convert string to float: 'a')",
    ),
    (
        "columns of different length",
        'site.evaluate({"transit_time_us": [610.0, 610.1], "time_difference_ns": [798.0]})',
        "time_difference: found 1 values; allowed: 2, as in the first column",
    ),
    (
        "a flow without unit",
        'site.plan(200, "8 degC")',
        "flows[0]: found 200, which has no unit; allowed: text such as '100 m3/h', "
        "or a pint quantity",
    ),
    (
        "a flow in l/m",
        'site.plan("30 l/m", "8 degC")',
        "flows[0]: unknown unit `l/m` in `30 l/m`; allowed: m3/s, m3/h, L/s, L/min, "
        "L/h, gal/min, Imp gal/min, ft3/s (did you mean L/min?)",
    ),
    (
        "a temperature in plain kelvin",
        'site.plan("200 m3/h", 281)',
        "temperatures[0]: found 281, which has no unit; allowed: text such as '15 "
        "degC', or a pint quantity",
    ),
    (
        "a target of 4",
        'demo.target("4")',
        "target: `4` is not a quantity; allowed: a number with its unit, such as "
        "`1.5 %` or `8 m3/h`",
    ),
    (
        "a target as a plain number",
        "demo.target(0.016)",
        "target[0]: found 0.016, which has no unit; allowed: text such as '1 %', or "
        "a pint quantity",
    ),
    (
        "coverage in percent",
        "demo.expanded(95)",
        "coverage_probability: found 95; allowed: strictly between 0 and 1, such as 0.95",
    ),
    (
        "a unit of mass for a flow",
        'demo.value("kg/h")',
        "unit: unknown unit `kg/h` in `kg/h`; allowed: m3/s, m3/h, L/s, L/min, L/h, "
        "gal/min, Imp gal/min, ft3/s (that is a mass flow: divide it by the density "
        "of the liquid)",
    ),
    (
        "trials as a float",
        "demo.monte_carlo(1e6)",
        "trials: found 1000000.0; allowed: whole numbers, 1 or above, such as 1_000_000",
    ),
    (
        "trials below one",
        "demo.monte_carlo(-1)",
        "trials: found -1; allowed: whole numbers, 1 or above, such as 1_000_000",
    ),
    (
        "too few trials",
        "demo.monte_carlo(10)",
        "trials: found 10; allowed: 100 to 2e8",
    ),
    (
        "an unknown interval",
        'demo.monte_carlo(1000).interval(0.95, kind="narrow")',
        "kind: found `narrow`; allowed: symmetric, shortest",
    ),
    (
        "a log without times",
        'site.evaluate_series({"transit_time_us": [610.0, 610.1]})',
        "time: missing; needed: a column `time` or `time_s`, an index of times, or interval=",
    ),
    (
        "an interval in plain seconds",
        "site.evaluate_series(LOG, interval=5)",
        "interval: found 5; allowed: text with a unit such as '60 s', a timedelta or "
        "a pint quantity",
    ),
    (
        "a starter for milk",
        'fd.Site.starter("timed", "milk")',
        "liquid: found `milk`; allowed: water, sea water, ethylene glycol, propylene "
        "glycol, stated",
    ),
]


def is_said(error, message, lines=(0, 0)):
    """Check the whole message, in which "..." stands for anything, LINE for one of the lines."""
    if "LINE" in message:
        line = int(re.match(r"[^:]*:(\d+): ", str(error)).group(1))
        assert lines[0] <= line <= lines[1], str(error)
        message = message.replace("LINE", str(line))
    pattern = ".*".join(map(re.escape, message.split("...")))
    assert re.fullmatch(pattern, str(error), re.DOTALL), str(error)
    # a hint or a list of what is allowed, and no number that is none
    assert not re.search(r"(?i)\bnan\b(?! m/s`)", str(error))


def named(rows):
    return [pytest.param(*row[1:], id=row[0]) for row in rows]


@pytest.mark.parametrize(("stands", "wrote", "message"), named(IN_THE_SITE_FILE))
def test_in_the_site_file(demo_text, stands, wrote, message):
    assert stands in demo_text
    with pytest.raises(fd.FlowdoubtError) as raised:
        text = demo_text.replace(stands, wrote, 1)
        fd.Site.from_toml(text, "site.toml").evaluate(DEMO / "readings.csv")
    first = demo_text[: demo_text.index(stands)].count("\n") + 1
    # what lacks something is told at its section or key, some lines away
    last = first + wrote.count("\n")
    is_said(raised.value, message, (first - 4, last + 4))


@pytest.mark.parametrize(("text", "message"), named(IN_THE_READINGS))
def test_in_the_readings(demo_text, tmp_path, monkeypatch, text, message):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "readings.csv").write_text(text)
    with pytest.raises(fd.FlowdoubtError) as raised:
        fd.Site.from_toml(demo_text).evaluate("readings.csv")
    is_said(raised.value, message)


@pytest.mark.parametrize(("call", "message"), named(IN_A_CALL))
def test_in_a_call(demo, demo_text, call, message):
    log = {"transit_time_us": [610.0, 610.1]}
    names = {"fd": fd, "demo": demo, "site": fd.Site.from_toml(demo_text), "LOG": log}
    with pytest.raises(fd.FlowdoubtError) as raised:
        eval(call, names)
    is_said(raised.value, message)


def test_there_are_sixty_and_more():
    assert len(IN_THE_SITE_FILE) + len(IN_THE_READINGS) + len(IN_A_CALL) > 60


GOOD = (
    "transit_time_us,time_difference_ns,temperature_degC\n"
    "610.7161,798.17,8.12\n610.7153,799.31,8.13\n"
)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (GOOD.encode("utf-8-sig"), None),
        (GOOD.replace("\n", "\r\n").encode(), None),
        (GOOD.encode("utf-16"), None),
        (b"PK\x03\x04" + bytes(range(256)), "readings.csv:1: not a valid workbook"),
        (b"\x89PNG\r\n" + bytes(range(256)), "it is no text in UTF-8, UTF-16 or Windows-1252"),
    ],
    ids=["byte-order mark", "other lines", "another encoding", "a workbook", "a picture"],
)
def test_bytes_of_the_readings(demo_text, tmp_path, content, words):
    path = tmp_path / "readings.csv"
    path.write_bytes(content)
    site = fd.Site.from_toml(demo_text)
    if words is None:
        assert site.evaluate(path).readings == 2
    else:
        with pytest.raises(fd.InputError, match=words):
            site.evaluate(path)
