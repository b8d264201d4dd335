//! What a meter indicates, read from its outputs: pulses, counters, totalisers, currents.

use crate::support::{assert_refused, assert_relative, evaluate};
use flowdoubt::Error;
use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::record::{Extras, Record};
use flowdoubt::site::Site;
use flowdoubt::verify::Verification;
use proptest::prelude::*;

/// A site that shows what it is told, with more keys of `[meter]` and of `[meter.programmed]`.
pub(crate) fn site(meter: &str, programmed: &str) -> String {
    format!(
        "[site]\nname = \"outputs\"\n[liquid]\nkind = \"stated\"\nsound_speed = \"1480 m/s\"\n\
         kinematic_viscosity = \"1 mm2/s\"\n[pipe]\noutside_diameter = \"168.3 mm\"\n\
         wall = \"7.1 mm\"\nwall_sound_speed = \"3230 m/s\"\n[path]\nbasis = \"indicated\"\n\
         traverses = 2\nwedge_angle = \"40 deg\"\nwedge_sound_speed = \"2430 m/s\"\n\
         [meter]\n{meter}[meter.programmed]\nprinciple = \"timed\"\n\
         inside_diameter = \"154.1 mm\"\nprofile_factor = 0.943\n{programmed}"
    )
}

fn readings(columns: &[(&str, &[f64])]) -> Readings {
    Readings::from_columns(columns.iter().copied()).expect("readings")
}

/// The evaluation of the flow in m3/s as such.
fn of_flow(flow: f64) -> Evaluation {
    evaluate(
        &site("", ""),
        &readings(&[("volume_flow_m3_s", &[flow; 10])]),
    )
    .expect("a flow")
}

/// Standard uncertainty of an input of a budget, and its contribution over the estimate.
fn line(of: &Evaluation, name: &str) -> (f64, f64) {
    let mut lines = of.budget.lines.iter();
    let line = lines.find(|line| line.input.name() == name);
    let line = line.unwrap_or_else(|| panic!("{name} in the budget"));
    (
        line.input.standard_uncertainty(),
        (line.contribution / of.estimate()).abs(),
    )
}

const PULSES: &str = "pulse_value = \"10 L\"\n";
const TOTALISER: &str = "totaliser_resolution = \"0.1 m3\"\n";
const LOOP: &str = "flow_at_4_mA = \"0 m3/h\"\nflow_at_20_mA = \"200 m3/h\"\n";

#[test]
fn pulses_in_a_time_are_a_flow() {
    // 30 pulses of 10 L each minute: 5 L/s; the first count belongs to the minute before
    let times: Vec<f64> = (0..11).map(|i| 60.0 * f64::from(i)).collect();
    let counted = readings(&[("time_s", &times), ("pulses", &[30.0; 11])]);
    let found = evaluate(&site("", PULSES), &counted).expect("a flow");
    let same = of_flow(5e-3);
    assert_relative(found.estimate(), same.estimate(), 1e-12, "flow");
    // one pulse of 10 L in 600 s, triangular
    let (u, relative) = line(&found, "readings.volume_flow.counting");
    assert_relative(u, 0.01 / 600.0 / 6f64.sqrt(), 1e-12, "counting");
    // the profile factor changes a little with the flow, so not to the last digit
    assert_relative(relative, u / 5e-3, 0.02, "its part of the flow");
    // a counter that goes on tells the same, and so do readings a minute apart without times
    let state: Vec<f64> = (0..11).map(|i| 1700.0 + 30.0 * f64::from(i)).collect();
    let counter = readings(&[("time_s", &times), ("pulse_count", &state)]);
    let found_by_counter = evaluate(&site("", PULSES), &counter).expect("a flow");
    let counted = found_by_counter.estimate();
    assert_relative(counted, found.estimate(), 1e-12, "counter");
    let meter = "sampling_interval = \"60 s\"\n";
    let without = readings(&[("pulses", &[30.0; 10])]);
    let without = evaluate(&site(meter, PULSES), &without).expect("a flow");
    assert_relative(without.estimate(), found.estimate(), 1e-12, "without times");
}

#[test]
fn the_clock_of_the_counter_is_a_line_of_its_own() {
    let meter =
        "counter_clock = { value = \"1\", half_width = \"300 ppm\", shape = \"rectangular\" }\n";
    let times: Vec<f64> = (0..11).map(|i| 60.0 * f64::from(i)).collect();
    let counted = readings(&[("time_s", &times), ("pulses", &[30.0; 11])]);
    let found = evaluate(&site(meter, PULSES), &counted).expect("a flow");
    let (u, relative) = line(&found, "meter.counter_clock");
    assert_relative(u, 3e-4 / 3f64.sqrt(), 1e-12, "clock");
    assert_relative(relative, u, 0.02, "its part of the flow");
    // a clock that is slow by 1 % makes the flow too large
    let slow = meter.replace("value = \"1\"", "value = \"1.01\"");
    let slow = evaluate(&site(&slow, PULSES), &counted).expect("a flow");
    let as_told = of_flow(5e-3 / 1.01);
    assert_relative(slow.estimate(), as_told.estimate(), 1e-12, "slow clock");
}

#[test]
fn two_readings_of_a_totaliser_are_a_flow() {
    // 1234.5 m3 and an hour later 1252.5 m3: 18 m3/h
    let read = readings(&[
        ("time_s", &[0.0, 3600.0]),
        ("totaliser_m3", &[1234.5, 1252.5]),
    ]);
    let found = evaluate(&site("", TOTALISER), &read).expect("a flow");
    assert_relative(found.estimate(), of_flow(5e-3).estimate(), 1e-10, "flow");
    let (u, _) = line(&found, "readings.volume_flow.counting");
    assert_relative(u, 0.1 / 3600.0 / 6f64.sqrt(), 1e-12, "resolution");
    // nothing is known of the scatter, and the budget says so
    assert_eq!(line(&found, "readings.volume_flow").0, 0.0);
    let evidence = found
        .inputs
        .inputs()
        .iter()
        .find(|i| i.name() == "readings.volume_flow");
    let evidence = evidence.expect("flow").evidence();
    assert!(
        evidence.contains("18 m3 in 3600 s") && evidence.contains("no scatter"),
        "{evidence}"
    );
}

#[test]
fn a_totaliser_rolls_over_where_its_digits_are_stated() {
    let read = readings(&[("time_s", &[0.0, 3600.0]), ("totaliser_m3", &[990.0, 8.0])]);
    let four = format!("{TOTALISER}counter_digits = 4\n");
    let found = evaluate(&site("", &four), &read).expect("through 1000 m3");
    assert_relative(found.estimate(), of_flow(5e-3).estimate(), 1e-10, "flow");
    // without, it was reset; so it was where the way through the end is the longer one
    let error = evaluate(&site("", TOTALISER), &read).expect_err("reset");
    assert_refused(
        Err::<(), Error>(error),
        "conflict",
        &["totaliser[1]", "counter_digits"],
    );
    let back = readings(&[("time_s", &[0.0, 3600.0]), ("totaliser_m3", &[500.0, 8.0])]);
    let error = evaluate(&site("", &four), &back).expect_err("reset");
    assert_refused(
        Err::<(), Error>(error),
        "conflict",
        &["totaliser[1]", "reset", "1000 m3"],
    );
    // more digits than stated
    let more = readings(&[
        ("time_s", &[0.0, 3600.0]),
        ("totaliser_m3", &[1990.0, 2008.0]),
    ]);
    assert!(evaluate(&site("", &four), &more).is_err());
}

#[test]
fn a_current_is_a_flow() {
    // 12 mA is the middle of 0 to 200 m3/h
    let meter = "current_output = { value = \"0 mA\", half_width = \"0.02 mA\", shape = \"rectangular\" }\n\
                 current_input = { value = \"0 mA\", half_width = \"0.008 mA\", shape = \"rectangular\" }\n";
    let read = readings(&[("current_mA", &[12.0; 10])]);
    let found = evaluate(&site(meter, LOOP), &read).expect("a flow");
    assert_relative(
        found.estimate(),
        of_flow(100.0 / 3600.0).estimate(),
        1e-12,
        "flow",
    );
    // 0.02 mA of 8 mA above 4 mA
    for (name, half_width) in [
        ("meter.current_output", 0.02),
        ("meter.current_input", 0.008),
    ] {
        let (u, relative) = line(&found, name);
        assert_relative(u, half_width * 1e-3 / 3f64.sqrt(), 1e-12, name);
        assert_relative(relative, half_width / 8.0 / 3f64.sqrt(), 0.02, name);
    }
    // a correction of the reading moves the flow: 12.16 mA is 102 m3/h
    let moved = meter.replace(
        "current_input = { value = \"0 mA\"",
        "current_input = { value = \"0.16 mA\"",
    );
    let moved = evaluate(&site(&moved, LOOP), &read).expect("a flow");
    assert_relative(
        moved.estimate(),
        of_flow(102.0 / 3600.0).estimate(),
        1e-12,
        "moved",
    );
    // flow in both directions
    let both = LOOP.replace("\"0 m3/h\"", "\"-200 m3/h\"");
    let read = readings(&[("current_mA", &[4.8; 10])]);
    let back = evaluate(&site("", &both), &read).expect("a flow");
    assert_relative(
        back.estimate(),
        of_flow(-180.0 / 3600.0).estimate(),
        1e-12,
        "back",
    );
}

#[test]
fn a_current_that_tells_a_fault_is_refused() {
    for (row, current) in [(3, 3.5), (0, 21.5), (9, 0.0)] {
        let mut currents = [12.0; 10];
        currents[row] = current;
        let found = Readings::from_columns([("current_mA", &currents[..])]);
        assert_refused(
            found,
            "out-of-range",
            &[&format!("current[{row}]"), "3.6 mA to 21 mA"],
        );
    }
    for current in [3.6, 21.0] {
        assert!(
            Readings::from_columns([("current_mA", &[current; 3][..])]).is_ok(),
            "{current}"
        );
    }
}

#[test]
fn what_an_output_needs_is_said() {
    let times = [0.0, 60.0, 120.0, 180.0];
    let pulses: &[(&str, &[f64])] = &[("time_s", &times), ("pulses", &[3.0; 4])];
    let untimed: &[(&str, &[f64])] = &[("pulses", &[3.0; 4])];
    let back: &[(&str, &[f64])] = &[("time_s", &[0.0, 60.0, 60.0, 180.0]), ("pulses", &[3.0; 4])];
    let negative: &[(&str, &[f64])] = &[("time_s", &times), ("pulses", &[3.0, 3.0, -1.0, 3.0])];
    let both: &[(&str, &[f64])] = &[("pulses", &[3.0; 4]), ("volume_flow_m3_h", &[3.0; 4])];
    let current: &[(&str, &[f64])] = &[("current_mA", &[12.0; 4])];
    let flow: &[(&str, &[f64])] = &[("volume_flow_m3_h", &[18.0; 4])];
    let clock = "counter_clock = \"1.0001\"\n";
    for (meter, programmed, columns, field, words) in [
        (
            "",
            "",
            pulses,
            "meter.programmed.pulse_value",
            "volume of a pulse",
        ),
        (
            "",
            TOTALISER,
            pulses,
            "meter.programmed.pulse_value",
            "volume of a pulse",
        ),
        (
            "",
            PULSES,
            untimed,
            "readings.time",
            "meter.sampling_interval",
        ),
        ("", PULSES, back, "readings.time[2]", "rise"),
        ("", PULSES, negative, "pulses[2]", "0 or above"),
        ("", PULSES, both, "readings.pulses", "one of the two"),
        ("", "", current, "meter.programmed.flow_at_4_mA", "20 mA"),
        (clock, PULSES, flow, "meter.counter_clock", "no effect"),
    ] {
        let error = evaluate(&site(meter, programmed), &readings(columns)).expect_err(field);
        let text = error.to_string();
        assert!(text.contains(field) && text.contains(words), "{text}");
    }
}

#[test]
fn keys_without_effect_and_half_a_span_are_refused() {
    for (meter, programmed, field) in [
        ("counter_clock = \"1\"\n", "", "meter.counter_clock"),
        (
            "current_output = \"0 mA\"\n",
            PULSES,
            "meter.current_output",
        ),
        ("current_input = \"0 mA\"\n", "", "meter.current_input"),
        (
            "",
            "counter_digits = 6\n",
            "meter.programmed.counter_digits",
        ),
        ("", "flow_at_4_mA = \"0 m3/h\"\n", "meter.programmed"),
        (
            "",
            "flow_at_4_mA = \"1 m3/h\"\nflow_at_20_mA = \"1 m3/h\"\n",
            "flow_at_20_mA",
        ),
        (
            "",
            "pulse_value = \"0 L\"\n",
            "meter.programmed.pulse_value",
        ),
        (
            "",
            "pulse_value = \"10 kg\"\n",
            "meter.programmed.pulse_value",
        ),
        (
            "",
            "pulse_value = \"10 L\"\ncounter_digits = 1\n",
            "counter_digits",
        ),
    ] {
        let error = Site::from_toml(&site(meter, programmed), "site.toml").expect_err(field);
        let text = error.to_string();
        assert!(
            text.contains(field) && text.contains("site.toml:"),
            "{text}"
        );
    }
}

#[test]
fn evaluations_of_outputs_reproduce_and_have_trials() {
    let times: Vec<f64> = (0..30).map(|i| 10.0 * f64::from(i)).collect();
    let pulses: Vec<f64> = (0..30).map(|i| f64::from(4 + i % 3)).collect();
    let state: Vec<f64> = pulses
        .iter()
        .scan(990.0, |sum, n| {
            *sum = (*sum + 0.1 * n) % 1000.0;
            Some(*sum)
        })
        .collect();
    let currents: Vec<f64> = (0..30).map(|i| 11.9 + 0.01 * f64::from(i % 7)).collect();
    let clock =
        "counter_clock = { value = \"1\", half_width = \"300 ppm\", shape = \"rectangular\" }\n";
    let output = "current_output = { value = \"0 mA\", half_width = \"0.02 mA\", shape = \"rectangular\" }\n";
    let four = format!("{TOTALISER}counter_digits = 4\n");
    for (meter, programmed, name, values) in [
        (clock, PULSES, "pulses", &pulses),
        ("", &four, "totaliser_m3", &state),
        (output, LOOP, "current_mA", &currents),
    ] {
        let read = readings(&[("time_s", &times), (name, values)]);
        let found = evaluate(&site(meter, programmed), &read).expect(name);
        let run = MonteCarlo {
            trials: 20_000,
            ..MonteCarlo::default()
        };
        let trials = found.monte_carlo(run).expect("trials");
        let u = found.standard_uncertainty();
        assert!((trials.mean - found.estimate()).abs() < 0.1 * u, "{name}");
        let extras = Extras {
            trials: Some(&trials),
            ..Extras::default()
        };
        let record = Record::of(&found, extras).expect("record");
        let again = Record::from_text(&record.to_text()).expect("read");
        assert!(again.reproduce().expect("reproduction").agrees(), "{name}");
        let sheet = found.worksheet().expect("worksheet");
        let has = |symbol: &str| sheet.lines.iter().any(|line| line.symbol == symbol);
        assert_eq!(has("Q_m"), name != "totaliser_m3", "{name}");
    }
}

#[test]
fn the_error_of_counting_is_that_of_chance() {
    // a flow that is steady, counted from any moment on: the deviation is triangular
    let (flow, pulse) = (5e-3, 0.01);
    let n = 4000_u32;
    // begins and times that fill a pulse evenly, by two irrational steps
    let squares: f64 = (0..n)
        .map(|i| {
            let (begin, time) = (
                f64::from(i) * 1.236_068,
                60.0 + (f64::from(i) * 0.828_427).fract() * 20.0,
            );
            let count = |t: f64| (flow * t / pulse).floor();
            // in counts
            (count(begin + time) - count(begin)) - flow * time / pulse
        })
        .map(|deviation| deviation * deviation)
        .sum();
    assert_relative(
        (squares / f64::from(n)).sqrt(),
        1.0 / 6f64.sqrt(),
        0.03,
        "counts",
    );
}

/// Relative error and its standard uncertainty of a meter that shows 18 m3/h against as much.
fn verified(meter: &str, programmed: &str, columns: &[(&str, &[f64])]) -> (f64, f64) {
    let text = "[verification]\nname = \"v\"\nquestion = \"error as installed\"\n\
                indicated = \"shown by the meter\"\n[reference]\nkind = \"master meter\"\n\
                calibration_factor = { value = \"1\", standard_uncertainty = \"0.1 %\" }\n\
                [[run]]\npoint = \"p\"\nreadings = \"run.csv\"\nvolume_flow = \"18 m3/h\"\n";
    let verification =
        Verification::with_readings(text, "verification.toml", |_| Ok(readings(columns)));
    let site = Site::from_toml(&site(meter, programmed), "site.toml").expect("site");
    let result = site.verify(&verification.expect("verification"));
    let error = result.expect("result").points[0].error;
    (error.value, error.standard_uncertainty)
}

#[test]
fn a_meter_is_verified_by_its_outputs() {
    let root = |parts: &[f64]| parts.iter().map(|u| u * u).sum::<f64>().sqrt();
    let times: Vec<f64> = (0..11).map(|i| 60.0 * f64::from(i)).collect();
    let clock =
        "counter_clock = { value = \"1\", half_width = \"0.2 %\", shape = \"rectangular\" }\n";
    let columns: &[(&str, &[f64])] = &[("time_s", &times), ("pulses", &[30.0; 11])];
    let (error, u) = verified(clock, PULSES, columns);
    assert!(error.abs() < 1e-12, "{error}");
    // the reference, the clock of the counter, and one pulse of 300
    let by_hand = root(&[1e-3, 2e-3 / 3f64.sqrt(), 1.0 / 300.0 / 6f64.sqrt()]);
    assert_relative(u, by_hand, 1e-3, "pulses");
    // what the output of the meter does is part of its error, what reads it is not
    let meter = "current_output = { value = \"0 mA\", half_width = \"0.2 mA\", shape = \"rectangular\" }\n\
                 current_input = { value = \"0 mA\", half_width = \"0.02 mA\", shape = \"rectangular\" }\n";
    let span = LOOP.replace("200 m3/h", "36 m3/h");
    // readings that are all alike would have half of their last digit as uncertainty
    let current = [12.0 - 1e-6, 12.0 + 1e-6].repeat(5);
    let (error, u) = verified(meter, &span, &[("current_mA", &current)]);
    assert!(error.abs() < 1e-12, "{error}");
    assert_relative(u, root(&[1e-3, 0.02 / 8.0 / 3f64.sqrt()]), 1e-3, "current");
}

proptest! {
    #[test]
    fn flow_to_pulses_and_back_is_within_a_pulse(
        flow in 2e-3f64..0.1,
        pulse in 1e-4f64..5e-3,
        phase in 0.0f64..1.0,
        step in 1.0f64..100.0,
        jitter in 0.0f64..0.9,
    ) {
        let times: Vec<f64> = (0..12)
            .map(|i| step * (f64::from(i) + jitter * (f64::from(i) * 0.618).fract()))
            .collect();
        let state: Vec<f64> = times.iter().map(|t| (flow * t / pulse + phase).floor()).collect();
        let programmed = format!("pulse_value = \"{pulse:e} m3\"\n");
        let read = readings(&[("time_s", &times), ("pulse_count", &state)]);
        // the indicated flow itself, before it is taken back
        let site = Site::from_toml(&site("", &programmed), "site.toml").expect("site");
        let found = site.evaluate(&read).expect("a flow");
        let mut inputs = found.inputs.inputs().iter();
        let indicated = inputs.find(|i| i.name() == "readings.volume_flow").expect("flow");
        let bound = pulse / (times[11] - times[0]);
        prop_assert!((indicated.estimate() - flow).abs() <= bound * (1.0 + 1e-9));
    }
}
