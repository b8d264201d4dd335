//! Tables of pipe dimensions against another package, against clauses of the standards and
//! against printed tables.

use crate::support::tables::against;
use crate::support::{assert_refused, assert_relative, json, number};
use flowdoubt::pipe::{
    Dimensions, Standard, en_10216_wall, en_10220_outside_diameter, plastic_pipe,
};
use proptest::prelude::*;

fn b36_10m(size: &str, schedule: &str) -> Dimensions {
    let pipe = Standard::AsmeB3610m.pipe(size, schedule);
    pipe.expect("a pipe of ASME B36.10M")
}

fn b36_19m(size: &str, schedule: &str) -> Dimensions {
    let pipe = Standard::AsmeB3619m.pipe(size, schedule);
    pipe.expect("a pipe of ASME B36.19M")
}

#[test]
fn tables_meet_another_package() {
    let mut compared = against(
        "package `fluids`",
        "diameter, wall and bore of ASME B36.10M and B36.19M",
    );
    let golden = json("golden/pipe_tables.json");
    for standard in Standard::ALL {
        let points = golden[standard.name()]["points"]
            .as_array()
            .expect("points");
        for point in points {
            let (size, schedule) = (point["nps"].to_string(), &point["schedule"]);
            let schedule = schedule.as_str().expect("schedule");
            let what = format!("{} NPS {size} schedule {schedule}", standard.name());
            let pipe = standard.pipe(&size, schedule).expect(&what);
            let diameter = number(&point["outside_diameter"]);
            compared.relative(pipe.nominal_outside_diameter, diameter, 1e-12, &what);
            compared.relative(pipe.nominal_wall, number(&point["wall"]), 1e-12, &what);
            let bore = pipe.nominal_outside_diameter - 2.0 * pipe.nominal_wall;
            compared.relative(bore, number(&point["bore"]), 1e-12, &what);
        }
        // no pipe more than the package has
        let sizes = standard.sizes().expect("sizes");
        let schedules = sizes
            .iter()
            .map(|size| standard.schedules(size).expect("size").len());
        assert_eq!(schedules.sum::<usize>(), points.len());
    }
}

#[test]
fn clauses_that_the_tables_must_obey() {
    let table = Standard::AsmeB3610m;
    for size in table.sizes().expect("sizes") {
        let nps = table.schedules(size).expect("schedules");
        let wall = |schedule: &str| {
            let has = nps.contains(&schedule);
            has.then(|| b36_10m(size, schedule).nominal_wall)
        };
        let diameter = b36_10m(size, "STD").nominal_outside_diameter;
        // STD is schedule 40 up to NPS 10 and 9.53 mm above; XS is schedule 80 up to NPS 8 and
        // 12.70 mm above
        if diameter < 0.3 {
            assert_eq!(wall("STD"), wall("40"), "NPS {size}");
        } else {
            assert_eq!(wall("STD"), Some(9.53e-3), "NPS {size}");
        }
        if diameter < 0.25 {
            assert_eq!(wall("XS"), wall("80"), "NPS {size}");
        } else {
            assert_eq!(wall("XS"), Some(12.7e-3), "NPS {size}");
        }
        // from NPS 14 on the outside diameter is the nominal size, to the full mm from NPS 18 on
        if let Ok(inches) = size.parse::<f64>()
            && inches >= 14.0
        {
            assert!((diameter - inches * 25.4e-3).abs() < 0.6e-3, "NPS {size}");
        }
        // walls grow with the number of the schedule
        let numbered = nps.iter().filter(|s| s.parse::<u32>().is_ok());
        let walls: Vec<_> = numbered.map(|s| wall(s)).collect();
        assert!(walls.is_sorted(), "NPS {size}");
    }
}

#[test]
fn stainless_walls_depart_where_the_scope_says() {
    // the scope of ASME B36.19M names NPS 14 to 22 in 10S, NPS 12 in 40S, NPS 10 and 12 in 80S;
    // above that 40S and 80S keep the walls of STD and XS
    for (stainless, carbon, departing) in [
        ("10S", "10", &["14", "16", "18", "20", "22"][..]),
        ("40S", "40", &["12", "14", "16", "18", "20", "24"]),
        ("80S", "80", &["10", "12", "14", "16", "18", "20", "24"]),
    ] {
        let table = Standard::AsmeB3619m;
        for size in table.sizes().expect("sizes") {
            if table
                .schedules(size)
                .expect("schedules")
                .contains(&stainless)
            {
                let same =
                    b36_19m(size, stainless).nominal_wall == b36_10m(size, carbon).nominal_wall;
                assert_eq!(same, !departing.contains(&size), "NPS {size} {stainless}");
            }
        }
    }
}

#[test]
fn one_size_in_many_spellings() {
    let expected = b36_10m("2 1/2", "40");
    assert_eq!(expected.nominal_outside_diameter, 73.0e-3);
    for size in [
        "2.5",
        "NPS 2 1/2",
        "nps 2-1/2",
        "2 1/2 in",
        "2.5\"",
        "DN 65",
        "dn65",
        " 2.5 inch ",
    ] {
        for schedule in ["40", "Sch 40", "schedule 40", " sch.40 "] {
            assert_eq!(b36_10m(size, schedule), expected, "{size}, {schedule}");
        }
    }
    assert_eq!(b36_10m("6", "std"), b36_10m("DN 150", "40"));
    let series_1 = en_10220_outside_diameter("65").expect("DN 65");
    assert_eq!(series_1.estimate, 76.1e-3); // not the 73.0 mm of NPS 2 1/2
    assert_eq!(en_10220_outside_diameter("DN 65"), Ok(series_1));
}

#[test]
fn tolerances_hold_what_the_product_standards_accept() {
    // ASTM A530 as seen: size, lower and upper deviation of the outside diameter in mm
    for (size, lower, upper) in [
        ("1/8", 0.8, 0.4),
        ("1 1/2", 0.8, 0.4),
        ("4", 0.8, 0.8),
        ("8", 0.8, 1.6),
        ("12", 0.8, 2.4),
        ("18", 0.8, 2.4),
        ("26", 0.8, 3.2),
        ("34", 0.8, 4.0),
        ("48", 0.8, 4.8),
    ] {
        let pipe = b36_10m(size, "STD");
        let range = pipe.outside_diameter;
        let half_width = range.half_width * 1e3;
        assert!(
            half_width >= lower - 1e-9 && half_width >= upper - 1e-9,
            "NPS {size}"
        );
        // ASTM A53: 1 % from NPS 2 on; nothing wider than the widest of both
        let widest = f64::max(f64::max(lower, upper), 10.0 * pipe.nominal_outside_diameter);
        assert_relative(half_width, widest, 1e-12, size);
        assert_relative(pipe.wall.lower(), 0.875 * pipe.nominal_wall, 1e-12, size);
        assert_eq!(pipe.wall.estimate, pipe.nominal_wall);
        assert_eq!(range.estimate, pipe.nominal_outside_diameter);
    }
    let small = en_10220_outside_diameter("DN 15").expect("DN 15");
    assert_eq!(small.half_width, 0.5e-3);
    let large = en_10220_outside_diameter("DN 500").expect("DN 500");
    assert_relative(large.half_width, 5.08e-3, 1e-12, "DN 500");
    assert_eq!(en_10216_wall(2.0e-3).half_width, 0.4e-3);
    assert_relative(
        en_10216_wall(8.0e-3).half_width,
        1.0e-3,
        1e-12,
        "wall of 8 mm",
    );
}

#[test]
fn series_1_departs_from_asme_where_it_is_known_to() {
    for (dn, asme) in [
        ("20", 26.7),
        ("25", 33.4),
        ("32", 42.2),
        ("65", 73.0),
        ("125", 141.3),
    ] {
        let size = format!("DN {dn}");
        let steel = b36_10m(&size, "40").nominal_outside_diameter;
        assert_relative(steel, asme * 1e-3, 1e-12, dn);
        let series_1 = en_10220_outside_diameter(dn).expect(dn).estimate;
        assert!((series_1 - steel).abs() > 0.15e-3, "DN {dn}");
    }
    for dn in [
        "15", "40", "50", "80", "100", "150", "200", "250", "350", "400", "500", "600",
    ] {
        let steel = b36_10m(&format!("DN {dn}"), "STD").nominal_outside_diameter;
        let series_1 = en_10220_outside_diameter(dn).expect(dn).estimate;
        assert_relative(series_1, steel, 1e-12, dn);
    }
}

#[test]
fn plastic_walls_as_printed() {
    // ISO 4427-2 as printed in MS 1058-2:2005: dn, SDR, least and largest wall in mm
    for (dn, sdr, least, largest) in [
        (20.0, 9.0, 2.3, 2.7),
        (20.0, 11.0, 2.0, 2.3),
        (25.0, 13.6, 2.0, 2.3),
        (63.0, 17.0, 3.8, 4.3),
        (90.0, 6.0, 15.0, 16.7),
        (90.0, 17.0, 5.4, 6.1),
        (110.0, 7.4, 15.1, 16.8),
        (110.0, 11.0, 10.0, 11.1),
        (110.0, 17.0, 6.6, 7.4),
        (160.0, 11.0, 14.6, 16.2),
        (200.0, 13.6, 14.7, 16.3),
        (250.0, 11.0, 22.7, 25.1),
        (315.0, 6.0, 52.3, 57.7),
        (315.0, 7.4, 43.1, 47.6),
        (355.0, 17.0, 21.1, 23.4),
        (450.0, 11.0, 40.9, 45.1),
        (560.0, 13.6, 41.2, 45.5),
    ] {
        let pipe = plastic_pipe(dn * 1e-3, sdr).expect("plastic pipe");
        let what = format!("dn {dn} SDR {sdr}: {pipe:?}");
        assert_relative(pipe.nominal_wall, dn * 1e-3 / sdr, 1e-15, &what);
        let (lower, upper) = (pipe.wall.lower() * 1e3, pipe.wall.upper() * 1e3);
        // the range holds both limits and is not much wider
        let slack = 0.03 * least + 0.35;
        assert!(lower <= least && least <= lower + slack, "{what}");
        assert!(largest <= upper && upper <= largest + slack, "{what}");
    }
    // largest mean outside diameter, grade A
    for (dn, largest) in [(20.0, 20.3), (110.0, 111.0), (125.0, 126.2), (160.0, 161.5)] {
        let range = plastic_pipe(dn * 1e-3, 11.0)
            .expect("plastic pipe")
            .outside_diameter;
        assert_relative(range.lower(), dn * 1e-3, 1e-12, "least diameter");
        let above = range.upper() * 1e3 - largest;
        assert!(above > -1e-9 && above < 0.1, "dn {dn}: {above}");
    }
}

#[test]
fn pipes_that_do_not_exist() {
    let refused = |size: &str, schedule: &str, parts: &[&str]| {
        let found = Standard::AsmeB3610m.pipe(size, schedule);
        assert_refused(found, "unknown-name", parts);
    };
    refused(
        "7",
        "40",
        &["pipe.size: found `7`", "allowed: 1/8, 1/4, ", ", 48"],
    );
    refused("6.5", "40", &["did you mean `6`?"]);
    refused("DN 160", "40", &["did you mean `DN 150`?", "DN 6, DN 8, "]);
    refused("six", "40", &["pipe.size: found `six`"]);
    refused("1/0", "40", &["pipe.size: found `1/0`"]);
    refused("NaN", "40", &["pipe.size: found `NaN`"]);
    refused("", "40", &["pipe.size"]);
    let parts = ["pipe.schedule: found `Sch 45`", "did you mean `40`?"];
    refused("6", "Sch 45", &parts);
    refused(
        "6",
        "20",
        &["allowed: 5, 10, 40, 80, 120, 160, STD, XS, XXS"],
    );
    refused("6", "STF", &["did you mean `STD`?"]);
    let parts = ["did you mean `10S`?", "allowed: 5S, 10S, 40S, 80S"];
    assert_refused(Standard::AsmeB3619m.pipe("6", "10"), "unknown-name", &parts);
    let parts = ["pipe.size: found `DN 60`", "did you mean `DN 65`?"];
    assert_refused(en_10220_outside_diameter("DN 60"), "unknown-name", &parts);
    let parts = ["did you mean `ASME B36.10M`?", "ASME B36.19M"];
    assert_refused(Standard::from_name("ASME B36.10"), "unknown-name", &parts);
    assert_eq!(
        Standard::from_name("asme b36.19m"),
        Ok(Standard::AsmeB3619m)
    );
    let parts = [
        "pipe.sdr: found `12`",
        "did you mean `11`?",
        "13.6, 17, 17.6",
    ];
    assert_refused(plastic_pipe(0.11, 12.0), "unknown-name", &parts);
    assert_refused(
        plastic_pipe(0.11, f64::NAN),
        "unknown-name",
        &["found `NaN`"],
    );
    for dn in [110.0, 0.0, -0.11, f64::NAN] {
        let parts = ["pipe.nominal_diameter", "allowed: 0.016 m to 2 m"];
        assert_refused(plastic_pipe(dn, 11.0), "out-of-range", &parts);
    }
}

proptest! {
    /// No text makes a lookup panic.
    #[test]
    fn any_text_is_found_or_refused(size in "\\PC{0,12}", schedule in "\\PC{0,8}") {
        for standard in Standard::ALL {
            if let Err(error) = standard.pipe(&size, &schedule) {
                prop_assert_eq!(error.code(), "unknown-name");
            }
        }
        if let Err(error) = en_10220_outside_diameter(&size) {
            prop_assert_eq!(error.code(), "unknown-name");
        }
    }
}
