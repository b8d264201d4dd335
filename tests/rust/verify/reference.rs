//! Each kind of reference against its formula written out by hand.

use super::{WATER, cube, flow_of, site, steady, step, verified};
use crate::support::assert_relative;
use flowdoubt::liquid::water;
use flowdoubt::scalar::Scalar;
use flowdoubt::verify::VerificationResult;

const FLOW: f64 = 60.0;

fn weighing(more: &str) -> String {
    format!(
        "[verification]\nname = \"v\"\nquestion = \"agreement\"\n[reference]\nkind = \"weighing\"\nstart = \"flying\"\n\
         {more}\n[[run]]\npoint = \"p\"\nreadings = \"60\"\nmass_start = \"120.4 kg\"\n\
         mass_end = \"1121.9 kg\"\nduration = \"60.2 s\"\n"
    )
}

fn reference_flow(result: &VerificationResult) -> f64 {
    result.runs[0].reference_flow.value
}

#[test]
fn weighing_by_hand() {
    let site = site(WATER, "");
    let result = verified(
        &site,
        &weighing(
            "air_density = \"1.19 kg/m3\"\ndiverter_error = \"20 ms\"\ntemperature = \"19 degC\"\n\
             calibration_factor = \"1.0002\"",
        ),
    );
    let at_meter = water::density(291.15, 3e5);
    // at the scale: as warm as stated; that it is at another pressure changes nothing visible
    let in_tank = at_meter * water::density(292.15, 3e5) / water::density(291.15, 3e5);
    let buoyancy = (1.0 - 1.19 / 8000.0) / (1.0 - 1.19 / in_tank);
    let mass = (1121.9 - 120.4) * 1.0002 * buoyancy;
    assert_relative(step(&result, 0, "mass_kg"), mass, 1e-14, "mass");
    let flow = mass / at_meter / (60.2 - 0.02);
    assert_relative(reference_flow(&result), flow, 1e-14, "flow");
    assert_relative(step(&result, 0, "duration_s"), 60.18, 1e-14, "duration");
    let meter = flow_of(&site, &steady(FLOW));
    let run = &result.runs[0];
    assert_relative(run.error.value, meter / flow - 1.0, 1e-12, "error");
    assert_relative(run.meter_factor.value, flow / meter, 1e-14, "meter factor");
    let volume = run.reference_volume.expect("volume");
    assert_relative(volume, mass / at_meter, 1e-14, "volume");
    let volume = run.meter_volume.expect("volume");
    assert_relative(volume, meter * 60.18, 1e-14, "volume by the meter");
}

#[test]
fn air_is_computed_from_its_state() {
    let site = site(WATER, "");
    let result = verified(
        &site,
        &weighing(
            "air_temperature = \"20 degC\"\nair_pressure = \"1013.25 mbar\"\nair_humidity = \"50 %\"\n\
             diverter_error = \"0 s\"",
        ),
    );
    // (0.34848 x 1013.25 - 0.009 x 50 exp(1.22)) / 293.15, by calculator
    assert_relative(
        step(&result, 0, "air_density_kg_m3"),
        1.199_294,
        1e-6,
        "air",
    );
}

#[test]
fn a_stated_density_serves_where_none_is_computed() {
    let stated =
        "kind = \"stated\"\nkinematic_viscosity = \"1.05 cSt\"\nsound_speed = \"1480 m/s\"";
    let site = site(stated, "");
    let text = weighing(
        "air_density = \"1.2 kg/m3\"\ndiverter_error = \"0 s\"\nliquid_density = \"870 kg/m3\"",
    );
    let result = verified(&site, &text);
    let buoyancy = (1.0 - 1.2 / 8000.0) / (1.0 - 1.2 / 870.0);
    let flow = 1001.5 * buoyancy / 870.0 / 60.2;
    assert_relative(reference_flow(&result), flow, 1e-14, "flow");
}

fn tank(start: &str, reading: &str, more: &str) -> String {
    format!(
        "[verification]\nname = \"v\"\nquestion = \"agreement\"\n[reference]\nkind = \"volumetric tank\"\nstart = \"{start}\"\n\
         tank_expansion = \"16 ppm/K\"\n{more}\n[[run]]\npoint = \"p\"\nreadings = \"60\"\n\
         duration = \"61 s\"\n{reading}\n"
    )
}

#[test]
fn a_tank_grows_and_its_liquid_is_elsewhere() {
    let site = site(WATER, "");
    let more = "diverter_error = \"-10 ms\"\ntemperature = \"17.5 degC\"\ntank_temperature = \"16 degC\"\n\
                air_pressure = \"990 mbar\"\ncalibration_factor = \"0.9996\"";
    let result = verified(&site, &tank("flying", "volume = \"1.0040 m3\"", more));
    let growth = cube(1.0 + 16e-6 * (16.0 - 20.0));
    let at_reference = 1.0040 * 0.9996 * growth;
    assert_relative(
        step(&result, 0, "volume_at_reference_m3"),
        at_reference,
        1e-14,
        "tank",
    );
    let ratio = water::density(290.65, 99_000.0) / water::density(291.15, 3e5);
    assert_relative(step(&result, 0, "density_ratio"), ratio, 1e-14, "ratio");
    let flow = at_reference * ratio / 61.01;
    assert_relative(reference_flow(&result), flow, 1e-14, "flow");
}

#[test]
fn levels_times_cross_section_and_a_standing_start() {
    let site = site(WATER, "");
    let reading = "cross_section = \"0.8 m2\"\nlevel_start = \"12 mm\"\nlevel_end = \"1267 mm\"\n\
                   reference_temperature = \"18 degC\"\nair_pressure = \"3 bar\"";
    let result = verified(
        &site,
        &tank("standing", reading, "start_stop_volume = \"1.5 L\""),
    );
    // tank at its reference temperature and liquid as at the meter: nothing to correct
    let flow = (0.8 * 1.255 - 0.0015) / 61.0;
    assert_relative(reference_flow(&result), flow, 1e-13, "flow");
}

#[test]
fn glycol_is_squeezed_by_its_compressibility() {
    let glycol = "kind = \"propylene glycol\"\nmass_fraction = \"0.3\"\nsound_speed = \"1600 m/s\"\n\
                  absolute_pressure = \"6 bar\"\ndensity_formulation = \"1\"\nviscosity_formulation = \"1\"";
    let site = site(glycol, "");
    let more = "diverter_error = \"0 s\"\nliquid_compressibility = \"0.4 1/GPa\"\n\
                reference_temperature = \"18 degC\"\nair_pressure = \"1 bar\"";
    let result = verified(&site, &tank("flying", "volume = \"1 m3\"", more));
    let ratio = Scalar::exp(-0.4e-9 * 5e5_f64);
    assert_relative(reference_flow(&result), ratio / 61.0, 1e-13, "flow");
}

fn master(more: &str, run: &str) -> String {
    format!(
        "[verification]\nname = \"v\"\nquestion = \"agreement\"\n[reference]\nkind = \"master meter\"\n{more}\n[[run]]\n\
         point = \"p\"\nreadings = \"60\"\n{run}\n"
    )
}

#[test]
fn a_master_meter_is_corrected_by_its_certificate() {
    let site = site(WATER, "");
    let by_error = master("error = \"0.25 %\"", "volume_flow = \"59.8 m3/h\"");
    let result = verified(&site, &by_error);
    let flow = 59.8 / 3600.0 / 1.0025;
    assert_relative(reference_flow(&result), flow, 1e-14, "flow");
    assert_eq!(result.runs[0].reference_volume, None);
    let more =
        "calibration_factor = \"0.9975\"\ntemperature = \"21 degC\"\nabsolute_pressure = \"5 bar\"";
    let by_factor = master(more, "volume = \"1.0 m3\"\nduration = \"60 s\"");
    let result = verified(&site, &by_factor);
    let ratio = water::density(294.15, 5e5) / water::density(291.15, 3e5);
    assert_relative(
        reference_flow(&result),
        0.9975 * ratio / 60.0,
        1e-14,
        "flow",
    );
}

#[test]
fn runs_in_series_are_put_right_by_the_flow_between() {
    let site = site(WATER, "");
    let more = "calibration_factor = \"1\"\ntiming = \"in series\"\nflow_ratio = \"1.004\"";
    let result = verified(&site, &master(more, "volume_flow = \"60 m3/h\""));
    assert_relative(reference_flow(&result), 1.0 / 60.0 / 1.004, 1e-14, "flow");
}

/// Mass is conserved: what the line takes in has passed the meter and not the reference.
#[test]
fn the_line_between_stores_liquid() {
    let site = site(WATER, "");
    let line = "line_volume = \"0.9 m3\"\nline_temperature_start = \"18 degC\"\n\
                line_temperature_end = \"17.4 degC\"\nline_pressure_start = \"2.8 bar\"\n\
                line_pressure_end = \"3.1 bar\"\nline_expansion = \"12 ppm/K\"\n\
                line_compliance = \"0.1 1/GPa\"";
    let run = format!("volume = \"1 m3\"\nduration = \"60 s\"\n{line}");
    let upstream = master("calibration_factor = \"1\"\nmeter = \"upstream\"", &run);
    let downstream = master("calibration_factor = \"1\"\nmeter = \"downstream\"", &run);
    let rho = |t: f64, p: f64| water::density(273.15 + t, p);
    let before = 0.9 * rho(18.0, 2.8e5);
    let grown = cube(1.0 - 12e-6 * 0.6) * (1.0 + 1e-10 * 3e4);
    let after = 0.9 * grown * rho(17.4, 3.1e5);
    let taken_in = (after - before) / rho(18.0, 3e5);
    assert!(
        taken_in > 5e-5,
        "colder and under more pressure: {taken_in}"
    );
    let result = verified(&site, &upstream);
    assert_relative(
        step(&result, 0, "line_pack_m3"),
        taken_in,
        1e-9,
        "line pack",
    );
    assert_relative(
        reference_flow(&result),
        (1.0 + taken_in) / 60.0,
        1e-13,
        "upstream",
    );
    let result = verified(&site, &downstream);
    assert_relative(
        reference_flow(&result),
        (1.0 - taken_in) / 60.0,
        1e-13,
        "downstream",
    );
}
