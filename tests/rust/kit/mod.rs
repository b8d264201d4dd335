//! Instruments that one owns, on the two sites of the demo: a small plastic pipe and a hot steel main.

use flowdoubt::evaluate::SiteFiles;
use flowdoubt::kit::{DayOnSite, Item, KitList, Misfit, OwnedRequest, Status};
use flowdoubt::plan::PlanRequest;
use flowdoubt::site::{Change, Inventory, Site};
use std::sync::Arc;

const BOX: &str = "notebooks/demo/box";

fn inventory() -> Arc<Inventory> {
    Arc::new(Inventory::load(format!("{BOX}/instruments.toml")).expect("instruments"))
}

fn plastic() -> Site {
    Site::load(format!("{BOX}/small_plastic_pipe.toml")).expect("a site")
}

fn hot() -> Site {
    Site::load(format!("{BOX}/hot_steel_main.toml")).expect("a site")
}

fn day(text: &str) -> DayOnSite {
    DayOnSite {
        date: Some(DayOnSite::day(text).expect("a day")),
        ..DayOnSite::default()
    }
}

fn at_plastic() -> DayOnSite {
    DayOnSite {
        temperatures: vec![273.15 + 28.0],
        cable_run: Some(4.0),
        duration: Some(3.0 * 3600.0),
        ..day("2026-11-30")
    }
}

#[track_caller]
fn item<'a>(list: &'a KitList, what: &str) -> &'a Item {
    let found = list.items().find(|item| item.what == what);
    found.unwrap_or_else(|| panic!("no {what} among {:?}", list.items().collect::<Vec<_>>()))
}

fn traverses(all: &[u32]) -> Vec<Change> {
    let one = |n: &u32| Change {
        traverses: Some(*n),
        ..Change::default()
    };
    all.iter().map(one).collect()
}

fn owned(site: &Site, flows: &[f64], day: DayOnSite) -> flowdoubt::kit::OwnedPlan {
    let plan = PlanRequest {
        flows: flows.to_vec(),
        temperatures: day.temperatures.clone(),
        alternatives: traverses(&[1, 2]),
        ..PlanRequest::default()
    };
    site.plan_owned(&inventory(), &OwnedRequest { plan, day })
        .expect("a plan")
}

#[test]
fn a_box_with_all_that_is_needed_has_a_complete_list() {
    let list = plastic().kit(&inventory(), &at_plastic()).expect("a list");
    for (what, name) in [
        ("pair of sensors", "slim pair, serial number HM 0117"),
        ("rail", "short rail"),
        ("straps", "short straps"),
        ("couplant or dry pads", "water-based gel"),
        ("electronics", "portable electronics, serial number HM 5002"),
        ("pair of cables", "cables of 10 m"),
    ] {
        let item = item(&list, what);
        assert_eq!(
            (item.status, item.found.as_str()),
            (Status::Fits, name),
            "{item:?}"
        );
    }
    assert!(
        list.surplus
            .iter()
            .any(|(kind, name)| kind == "sensors" && name.contains("HM 0204"))
    );
    // the surface probe should have been calibrated in June
    let probe = item(&list, "calibration of surface probe");
    assert_eq!(probe.status, Status::DoesNotFit(Misfit::Overdue));
    assert_eq!(probe.remark, "due 2026-06-03, before 2026-11-30");
    assert!(!list.is_complete());
    let early = DayOnSite {
        date: Some(DayOnSite::day("2026-05-30").expect("a day")),
        ..at_plastic()
    };
    let list = plastic().kit(&inventory(), &early).expect("a list");
    let bad: Vec<&Item> = list
        .items()
        .filter(|i| i.status == Status::Missing)
        .collect();
    assert!(list.is_complete(), "{bad:?}");
}

#[test]
fn what_a_hot_main_needs_is_another_box() {
    let list = hot().kit(&inventory(), &day("2026-11-30")).expect("a list");
    let found = |what: &str| item(&list, what).found.clone();
    assert_eq!(
        found("pair of sensors"),
        "pair for hot steel, serial number HM 0311"
    );
    assert_eq!(found("couplant or dry pads"), "silicone grease");
    assert_eq!(found("pair of cables"), "cables of 5 m for hot pipes");
    assert_eq!(
        found("wall thickness"),
        "thickness gauge with delay line, serial number HM 7112"
    );
    assert!(list.items().any(|item| item.what == "hot pipe"));
    assert!(
        plastic()
            .kit(&inventory(), &at_plastic())
            .expect("a list")
            .items()
            .all(|item| item.what != "hot pipe")
    );
}

#[test]
fn what_was_delivered_is_compared_item_by_item() {
    let delivered = Inventory::load(format!("{BOX}/delivered.toml")).expect("instruments");
    let list = hot().kit(&delivered, &day("2026-11-30")).expect("a list");
    assert!(!list.is_complete());
    let temperature = Status::DoesNotFit(Misfit::OutOfTemperatureRange);
    for (what, status) in [
        ("pair of sensors", temperature),
        ("couplant or dry pads", temperature),
        ("rail", Status::DoesNotFit(Misfit::WrongSize)),
        ("straps", Status::DoesNotFit(Misfit::WrongSize)),
        ("electronics", Status::Fits),
        ("pair of cables", Status::Fits),
        ("wall thickness", Status::Missing),
        ("outside circumference", Status::Fits),
    ] {
        let found = list.items().find(|item| item.what == what);
        assert_eq!(
            found.map(|item| item.status),
            Some(status),
            "{what}: {found:?}"
        );
    }
    let sensors = item(&list, "pair of sensors");
    assert!(
        sensors
            .remark
            .contains("surface at 128 degC; it stands -20 degC to 110 degC"),
        "{sensors:?}"
    );
    assert!(
        sensors.remark.contains("in place of pair for hot steel"),
        "{sensors:?}"
    );
    assert!(item(&list, "straps").remark.contains("1 of 2"));
    let surplus: Vec<&str> = list.surplus.iter().map(|(_, name)| name.as_str()).collect();
    assert_eq!(surplus, ["roll of drawing film"]);
}

#[test]
fn all_that_one_owns_is_tried() {
    let plan = owned(&plastic(), &[0.002], at_plastic());
    let labels: Vec<&str> = plan
        .plan
        .alternatives
        .iter()
        .map(|a| a.label.as_str())
        .collect();
    assert!(
        labels.iter().all(|label| label.contains("slim pair")),
        "{labels:?}"
    );
    assert!(!labels.is_empty());
    let why = |name: &str| {
        let all = plan
            .not_fitting
            .iter()
            .filter(|not| not.label.contains(name));
        let all = all.flat_map(|not| not.reasons.iter().map(|(_, reason)| reason.words.clone()));
        all.collect::<Vec<_>>().join("; ")
    };
    assert!(
        why("wide pair").contains("outside diameter 63 mm; made for 80 mm to 900 mm"),
        "{}",
        why("wide pair")
    );
    assert!(
        why("wide pair").contains("wall of PVC-U; made for carbon steel"),
        "{}",
        why("wide pair")
    );
    let hot = owned(&hot(), &[0.05], day("2026-11-30"));
    let labels: Vec<&str> = hot
        .plan
        .alternatives
        .iter()
        .map(|a| a.label.as_str())
        .collect();
    assert!(
        labels
            .iter()
            .all(|label| label.contains("pair for hot steel")),
        "{labels:?}"
    );
    assert_eq!(labels.len(), 2, "{labels:?} {:?}", hot.not_fitting);
}

#[test]
fn cables_of_another_delay_than_the_site_states_are_told() {
    let text = std::fs::read_to_string(format!("{BOX}/delivered.toml")).expect("a file");
    let swapped = text
        .replace("cables of 5 m for hot pipes", "cables of 15 m")
        .replace("\"5 m\"", "\"15 m\"");
    let delivered = Inventory::from_toml(&swapped, "delivered.toml").expect("instruments");
    let list = hot().kit(&delivered, &day("2026-11-30")).expect("a list");
    let cables = item(&list, "pair of cables");
    assert_eq!(cables.status, Status::DoesNotFit(Misfit::WrongSize));
    // twice 15 m at 5 ns/m, and twice 5 m at 4.8 ns/m
    assert!(
        cables
            .remark
            .starts_with("delay of both 150 ns; the site states 48 ns"),
        "{cables:?}"
    );
}

#[test]
fn sites_of_a_folder_use_the_instruments_beside_them() {
    let folder = tempfile::tempdir().expect("a folder");
    for name in [
        "instruments.toml",
        "small_plastic_pipe.toml",
        "hot_steel_main.toml",
    ] {
        std::fs::copy(format!("{BOX}/{name}"), folder.path().join(name)).expect("a file");
    }
    let readings = "time_difference_ns,transit_time_us,temperature_degC\n".to_owned()
        + &"46.5,92.5,27\n46.7,92.6,27\n".repeat(5);
    let hot = "time_difference_ns,transit_time_us\n".to_owned() + &"213,329\n214,330\n".repeat(5);
    std::fs::write(folder.path().join("small_plastic_pipe.csv"), readings).expect("a file");
    std::fs::write(folder.path().join("hot_steel_main.csv"), hot).expect("a file");
    let files = SiteFiles::in_folder(folder.path()).expect("sites");
    let names: Vec<_> = files
        .iter()
        .map(|f| f.site.file_name().expect("a name").to_owned())
        .collect();
    assert_eq!(names, ["hot_steel_main.toml", "small_plastic_pipe.toml"]);
    for files in files {
        let site = Site::load(&files.site).expect("a site");
        let texts = files.read().expect("texts");
        // where the files are not, the text has it all
        assert_eq!(texts.site, site.text());
        let own = Site::from_toml(&texts.site, "site.toml").expect("a site");
        assert_eq!(own.text(), site.text());
    }
}
