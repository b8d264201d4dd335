//! Quantities as text.

use flowdoubt::units::{Dimension, Unit, difference, quantity};
use proptest::prelude::*;

#[track_caller]
fn reads(text: &str, dimension: Dimension, si: f64) {
    let read = quantity(text, dimension, "x").unwrap_or_else(|e| panic!("{e}"));
    assert!(
        (read.si - si).abs() <= 1e-15 * si.abs(),
        "{text}: {} and not {si}",
        read.si
    );
}

#[test]
fn quantities_of_the_trade() {
    use Dimension::*;
    reads("168.3 mm", Length, 0.1683);
    reads("168.3mm", Length, 0.1683);
    reads("4 1/2 in", Length, 0.1143);
    reads("4-1/2 in", Length, 0.1143);
    reads("1/2 in", Length, 0.0127);
    reads("4.5 in", Length, 0.1143);
    reads("1e-3 m", Length, 1e-3);
    reads("+2.5 um", Length, 2.5e-6);
    reads("2.5 µm", Length, 2.5e-6);
    reads("0.6 us", Time, 0.6e-6);
    reads("-116 ns", Time, -116e-9);
    reads("18 degC", Temperature, 291.15);
    reads("-5 °C", Temperature, 268.15);
    reads("291.15 K", Temperature, 291.15);
    reads("5 ft/s", Velocity, 1.524);
    reads("120 m3/h", VolumeFlow, 120.0 / 3600.0);
    reads("120 m³/h", VolumeFlow, 120.0 / 3600.0);
    reads("6 bar", Pressure, 6e5);
    reads("41.5 deg", Angle, 41.5_f64.to_radians());
    reads("0.3 %", Ratio, 0.003);
    reads("1.002", Ratio, 1.002);
    reads("1.02 cSt", KinematicViscosity, 1.02e-6);
    reads("8 D", Diameters, 8.0);
    reads("1.2e-5 1/K", PerKelvin, 1.2e-5);
    reads("12 ppm/K", PerKelvin, 12e-6);
    reads("-2.4 m/s/K", VelocityPerKelvin, -2.4);
    reads("5 ns/m", TimePerLength, 5e-9);
    reads("207 GPa", Pressure, 207e9);
    reads("35 g/kg", Ratio, 0.035);
    reads("1121.9 kg", Mass, 1121.9);
    reads("2.5 t", Mass, 2500.0);
    reads("1 lb", Mass, 0.453_592_37);
    reads("1.5 m3", Volume, 1.5);
    reads("12 l", Volume, 0.012);
    // NIST SP 811, B.8: 1 gal (US) = 3.785 411 784 e-3 m3, 1 ft2 = 9.290 304 e-2 m2
    reads("1 gal", Volume, 231.0 * 0.0254 * 0.0254 * 0.0254);
    reads("1 ft2", Area, 0.3048 * 0.3048);
    reads("25 cm2", Area, 25.0 * 1e-4);
    reads("0.5 1/GPa", PerPressure, 0.5e-9);
    reads("50 ppm/bar", PerPressure, 50.0 * 1e-11);
    // NIST SP 811, B.8: 1 gal (US) = 3.785 411 784 e-3 m3; 1 psi = 6.894 757 kPa
    reads("528 gal/min", VolumeFlow, 528.0 * 3.785_411_784e-3 / 60.0);
    let psi = quantity("1 psi", Pressure, "x").expect("psi").si;
    assert!((psi - 6894.757).abs() < 5e-4);
    // 80 degF is 26.67 degC
    let warm = quantity("80 degF", Temperature, "x").expect("degF").si;
    assert!((warm - 299.816_666_666_666_6).abs() < 1e-10);
}

#[test]
fn differences_have_no_offset_and_know_percent() {
    let d = |text: &str, estimate: f64, dimension| difference(text, estimate, dimension, "x");
    assert_eq!(d("0.5 degC", 291.15, Dimension::Temperature), Ok(0.5));
    assert_eq!(d("0.5 K", 291.15, Dimension::Temperature), Ok(0.5));
    assert_eq!(d("0.9 degF", 291.15, Dimension::Temperature), Ok(0.5));
    assert_eq!(d("1 %", 0.2, Dimension::Length), Ok(0.002));
    assert_eq!(d("1 %", -0.2, Dimension::Length), Ok(0.002));
    assert_eq!(d("1 %", 1.0, Dimension::Ratio), Ok(0.01));
    let code = d("1 %", 291.15, Dimension::Temperature).map_err(|e| e.code());
    assert_eq!(code, Err("wrong-dimension"));
}

#[track_caller]
fn refuses(text: &str, dimension: Dimension, code: &str, words: &[&str]) {
    let error = quantity(text, dimension, "pipe.wall").expect_err(text);
    assert_eq!(error.code(), code, "{error}");
    let message = error.to_string();
    for word in words.iter().chain(&["pipe.wall"]) {
        assert!(message.contains(word), "{message} lacks {word}");
    }
}

#[test]
fn what_is_no_quantity_is_refused_with_the_reason() {
    use Dimension::*;
    refuses("168.3", Length, "not-a-quantity", &["168.3", "mm"]);
    refuses("mm", Length, "not-a-quantity", &["mm"]);
    refuses("", Length, "not-a-quantity", &[]);
    refuses("1,5 mm", Length, "not-a-quantity", &["1,5 mm"]);
    refuses("NaN mm", Length, "not-a-quantity", &["NaN"]);
    refuses("inf mm", Length, "not-a-quantity", &["inf"]);
    refuses("1e999 mm", Length, "not-a-quantity", &["1e999"]);
    refuses("1/0 in", Length, "not-a-quantity", &["1/0"]);
    refuses("1.2.3 mm", Length, "unknown-unit", &["1.2.3"]);
    refuses(
        "7 MM",
        Length,
        "unknown-unit",
        &["`MM`", "did you mean mm?"],
    );
    refuses("70 C", Temperature, "unknown-unit", &["did you mean degC?"]);
    refuses(
        "30 l/m",
        VolumeFlow,
        "unknown-unit",
        &["did you mean L/min?"],
    );
    refuses(
        "30 m3/hh",
        VolumeFlow,
        "unknown-unit",
        &["did you mean m3/h?"],
    );
    refuses(
        "30 t/h",
        VolumeFlow,
        "unknown-unit",
        &["mass flow", "density"],
    );
    refuses(
        "2 barg",
        Pressure,
        "unknown-unit",
        &["absolute", "atmosphere"],
    );
    refuses("7 us", Length, "wrong-dimension", &["time", "length", "mm"]);
    refuses(
        "20 mm",
        Temperature,
        "wrong-dimension",
        &["length", "temperature"],
    );
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused_without_panic(text in ".{0,24}") {
        let _ = quantity(&text, Dimension::Length, "x");
        let _ = difference(&text, 1.0, Dimension::Ratio, "x");
    }

    #[test]
    fn a_written_number_is_read_back(value in -1e6..1e6_f64) {
        let read = quantity(&format!("{value} m"), Dimension::Length, "x").expect("metres");
        prop_assert_eq!(read.si, value);
    }
}

#[test]
fn a_hint_that_leads_astray_is_none() {
    use Dimension::*;
    for (text, dimension, astray) in [
        ("7 mn", Length, "did you mean"),
        ("70 X", Temperature, "did you mean"),
        ("30 l/x", VolumeFlow, "did you mean"),
    ] {
        let error = quantity(text, dimension, "field").expect_err("refused");
        assert!(!error.to_string().contains(astray), "{error}");
    }
}

#[test]
fn a_number_is_given_in_the_unit_asked_for() {
    use Dimension::*;
    let own = Unit::parse("m3/h", VolumeFlow, "flow").expect("a unit");
    let in_unit = |symbol: &str| own.asked(symbol, "unit").expect("a unit").from_si(0.1);
    assert_eq!(in_unit("SI"), 0.1);
    assert!((in_unit("L/s") - 100.0).abs() < 1e-12);
    assert!((in_unit("m3/h") - 360.0).abs() < 1e-12);
    // what a user's own model counts in mm is no number in m
    let millimetres = Unit::named("mm").asked("m", "unit").expect("a unit");
    assert!((millimetres.from_si(1500.0) - 1.5).abs() < 1e-12);
    let celsius = Unit::named("degC").asked("SI", "unit").expect("a unit");
    assert!((celsius.from_si(20.0) - 293.15).abs() < 1e-12);
    let other = own.asked("kg", "unit").expect_err("no flow");
    assert_eq!(other.code(), "wrong-dimension");
    let none = Unit::named("V").asked("mV", "unit").expect_err("not known");
    assert_eq!(none.code(), "unknown-name");
    assert_eq!(Unit::named("V").asked("V", "unit"), Ok(Unit::named("V")));
}
