//! Dimensions of pipes after published standards, with the tolerances of their manufacture.
//!
//! A table says what a pipe was ordered as, not what hangs there: use it to plan and to find slips
//! in a survey, and measure before an uncertainty is claimed. Ranges are limits for any pipe that
//! was accepted, so a rectangular distribution suits them.
//!
//! # Source
//! The tables are in `src/pipe/data`, each with its source in its head.

use super::figure::Range;
use crate::error::{Error, Result, nearest};
use crate::units::{Dimension, quantity};
use once_cell::race::OnceBox;

const MM: f64 = 1e-3;

/// A pipe as a standard describes it, in m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dimensions {
    /// Outside diameter as tabulated.
    pub nominal_outside_diameter: f64,
    /// Wall as tabulated.
    pub nominal_wall: f64,
    /// Outside diameter of an accepted pipe.
    pub outside_diameter: Range,
    /// Wall of an accepted pipe.
    pub wall: Range,
}

/// A standard that tabulates walls by nominal size and schedule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Standard {
    /// ASME B36.10M, welded and seamless wrought steel pipe.
    AsmeB3610m,
    /// ASME B36.19M, stainless steel pipe.
    AsmeB3619m,
}

/// A line of a table: one nominal size.
#[derive(Debug)]
struct Line {
    /// Nominal size in inches as written, empty where the standard has none.
    nps: &'static str,
    /// Nominal size without dimension.
    dn: &'static str,
    /// In m.
    outside_diameter: f64,
    /// Schedule and wall in m.
    walls: Vec<(&'static str, f64)>,
}

type Table = Vec<Line>;

/// Reads a table of this folder: lines that begin with `#` are its head, then come the names of
/// the columns `nps` (if any), `dn`, `outside_diameter_mm` and one for each schedule.
fn read(text: &'static str) -> Result<Table> {
    let broken = |line: &str| Error::Syntax {
        format: "table of pipe dimensions",
        reason: format!("`{line}`"),
    };
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let names: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
    lines
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            // decimal, so that 7.11 mm is the double of 7.11e-3 m
            let metres = |cell: &str| format!("{cell}e-3").parse().map_err(|_| broken(line));
            let mut read = Line {
                nps: "",
                dn: "",
                outside_diameter: f64::NAN,
                walls: Vec::new(),
            };
            if cells.len() != names.len() {
                return Err(broken(line));
            }
            for (name, cell) in names.iter().zip(cells) {
                match *name {
                    "nps" => read.nps = cell,
                    "dn" => read.dn = cell,
                    "outside_diameter_mm" => read.outside_diameter = metres(cell)?,
                    _ if cell.is_empty() => {}
                    schedule => read.walls.push((schedule, metres(cell)?)),
                }
            }
            Ok(read)
        })
        .collect()
}

/// The table, read once.
fn kept(cell: &'static OnceBox<Result<Table>>, text: &'static str) -> Result<&'static Table> {
    cell.get_or_init(|| Box::new(read(text)))
        .as_ref()
        .map_err(Error::clone)
}

fn en_10220_table() -> Result<&'static Table> {
    static TABLE: OnceBox<Result<Table>> = OnceBox::new();
    kept(&TABLE, include_str!("data/en_10220.csv"))
}

impl Standard {
    /// All standards.
    pub const ALL: [Standard; 2] = [Standard::AsmeB3610m, Standard::AsmeB3619m];

    /// The designation, such as `ASME B36.10M`.
    pub fn name(self) -> &'static str {
        match self {
            Standard::AsmeB3610m => "ASME B36.10M",
            Standard::AsmeB3619m => "ASME B36.19M",
        }
    }

    /// The standard of a designation; letter case does not matter.
    ///
    /// # Errors
    /// The name is none of the designations.
    pub fn from_name(name: &str) -> Result<Standard> {
        let named = |s: &Standard| s.name().eq_ignore_ascii_case(name.trim());
        let names = Standard::ALL.map(Standard::name);
        Standard::ALL
            .into_iter()
            .find(named)
            .ok_or_else(|| Error::unknown_name("pipe.standard", name, &names))
    }

    fn table(self) -> Result<&'static Table> {
        static B36_10M: OnceBox<Result<Table>> = OnceBox::new();
        static B36_19M: OnceBox<Result<Table>> = OnceBox::new();
        match self {
            Standard::AsmeB3610m => kept(&B36_10M, include_str!("data/asme_b36_10m.csv")),
            Standard::AsmeB3619m => kept(&B36_19M, include_str!("data/asme_b36_19m.csv")),
        }
    }

    /// The nominal sizes of the standard in inches (NPS), such as `1 1/4`.
    ///
    /// # Errors
    /// The table cannot be read.
    pub fn sizes(self) -> Result<Vec<&'static str>> {
        Ok(self.table()?.iter().map(|line| line.nps).collect())
    }

    /// The schedules of a nominal size.
    ///
    /// # Errors
    /// The standard does not have the size.
    pub fn schedules(self, size: &str) -> Result<Vec<&'static str>> {
        let line = find_size(self.table()?, size)?;
        Ok(line.walls.iter().map(|(schedule, _)| *schedule).collect())
    }

    /// Dimensions in m of the pipe of nominal size `size` (`6`, `NPS 1 1/4`, `2.5 in` or
    /// `DN 150`) and schedule `schedule` (`40`, `Sch 10S`, `STD`).
    ///
    /// ```text
    /// wall:              nominal -12.5 % at any point; mass up to +10 %
    /// outside diameter:  the wider of +-1 % and -0.8/+0.4 mm (NPS 1/8 to 1 1/2), +0.8 (to 4),
    ///                    +1.6 (to 8), +2.4 (to 18), +3.2 (to 26), +4.0 (to 34), +4.8 mm (to 48)
    /// ```
    ///
    /// The half-width of the wall is 12.5 %: upwards no wall is limited at a point (A530: to about
    /// 20 %), but the mean is, by the mass. Both ranges lie about the nominal value.
    ///
    /// # Errors
    /// The standard does not have the size, or the size not the schedule; the error lists what
    /// there is.
    ///
    /// # Source
    /// Tables: ASME B36.10M and B36.19M. Tolerances: ASTM A53 (diameter +-1 %, wall -12.5 %, mass
    /// +-10 %) and ASTM A530 (the steps in mm), both as reproduced on public pages; the standards
    /// were not at hand.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::pipe::Standard;
    /// let pipe = Standard::AsmeB3610m.pipe("6", "40")?;
    /// assert_eq!(pipe.nominal_outside_diameter, 0.1683);
    /// assert_eq!(pipe.nominal_wall, 7.11e-3);
    /// assert!((pipe.wall.half_width - 0.125 * 7.11e-3).abs() < 1e-15);
    /// let error = Standard::AsmeB3610m.pipe("6", "45").unwrap_err().to_string();
    /// assert!(error.contains("did you mean `40`?"));
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn pipe(self, size: &str, schedule: &str) -> Result<Dimensions> {
        let line = find_size(self.table()?, size)?;
        let wanted = bare(schedule, &["SCHEDULE", "SCH.", "SCH"]);
        let Some((_, wall)) = line.walls.iter().find(|(name, _)| *name == wanted) else {
            let names: Vec<&str> = line.walls.iter().map(|(name, _)| *name).collect();
            return Err(unknown("pipe.schedule", schedule, &wanted, &names));
        };
        let (diameter, wall) = (line.outside_diameter, *wall);
        let step = outside_diameter_step_mm(inches(line.nps).unwrap_or(f64::INFINITY)) * MM;
        Ok(Dimensions {
            nominal_outside_diameter: diameter,
            nominal_wall: wall,
            outside_diameter: Range {
                estimate: diameter,
                half_width: step.max(0.01 * diameter),
            },
            wall: Range {
                estimate: wall,
                half_width: 0.125 * wall,
            },
        })
    }
}

impl Dimensions {
    /// Dimensions in m of the pipe of a standard by name: `ASME B36.10M` and `ASME B36.19M` with
    /// size and schedule; `EN 10220` with size and the nominal wall as text with a unit in place
    /// of a schedule; `ISO 4427` (plastic pipe) with the outside diameter as text with a unit and
    /// `SDR 11` in place of a schedule.
    ///
    /// # Errors
    /// A standard, size or schedule that there is not; each names what is allowed.
    ///
    /// # Source
    /// Those of [`Standard::pipe`], [`en_10220_outside_diameter`], [`en_10216_wall`] and
    /// [`plastic_pipe`].
    ///
    /// # Example
    /// ```
    /// use flowdoubt::pipe::Dimensions;
    /// let plastic = Dimensions::of("ISO 4427", "110 mm", Some("SDR 11"))?;
    /// let steel = Dimensions::of("EN 10220", "DN 100", Some("3.6 mm"))?;
    /// assert_eq!(plastic.nominal_outside_diameter, 0.110);
    /// assert_eq!(steel.outside_diameter.estimate, 114.3e-3);
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn of(standard: &str, size: &str, schedule: Option<&str>) -> Result<Dimensions> {
        let needed = |what: &str| {
            schedule.ok_or_else(|| Error::Missing {
                field: "pipe.schedule".to_owned(),
                needed: what.to_owned(),
            })
        };
        match standard.trim() {
            "EN 10220" => {
                let outside_diameter = en_10220_outside_diameter(size)?;
                let text = needed("the nominal wall, such as \"3.6 mm\"")?;
                let nominal_wall = quantity(text, Dimension::Length, "pipe.schedule")?.si;
                let half = 0.5 * outside_diameter.estimate;
                let allowed = format!("above 0 and below the radius, {half} m");
                let inside = nominal_wall > 0.0 && nominal_wall < half;
                Error::range(inside, "pipe.schedule", nominal_wall, "m", allowed)?;
                Ok(Dimensions {
                    nominal_outside_diameter: outside_diameter.estimate,
                    nominal_wall,
                    outside_diameter,
                    wall: en_10216_wall(nominal_wall),
                })
            }
            "ISO 4427" => {
                let dn = quantity(size, Dimension::Length, "pipe.size")?.si;
                let text = needed("the standard dimension ratio, such as \"SDR 11\"")?;
                let ratio = bare(text, &["SDR"]);
                let sdr = ratio.parse().map_err(|_| {
                    let names = SDR.map(|ratio| format!("SDR {ratio}"));
                    let names: Vec<&str> = names.iter().map(String::as_str).collect();
                    unknown("pipe.schedule", text, &ratio, &names)
                })?;
                plastic_pipe(dn, sdr)
            }
            _ => {
                let named = |s: &Standard| s.name().eq_ignore_ascii_case(standard.trim());
                let Some(found) = Standard::ALL.into_iter().find(named) else {
                    let names = ["ASME B36.10M", "ASME B36.19M", "EN 10220", "ISO 4427"];
                    return Err(Error::unknown_name("pipe.standard", standard, &names));
                };
                found.pipe(size, needed("a schedule of the size, such as \"40\"")?)
            }
        }
    }
}

/// Largest deviation of the outside diameter in mm for a nominal size in inches, ASTM A530; the
/// lower deviation is 0.8 mm for all sizes.
fn outside_diameter_step_mm(nps: f64) -> f64 {
    const STEPS: [(f64, f64); 5] = [
        (4.0, 0.8),
        (8.0, 1.6),
        (18.0, 2.4),
        (26.0, 3.2),
        (34.0, 4.0),
    ];
    let step = STEPS.iter().find(|(largest, _)| nps <= *largest);
    step.map_or(4.8, |(_, deviation)| *deviation)
}

/// Outside diameter in m of a steel tube of nominal size `DN`, series 1, with the tolerance
/// +-1 %, at least +-0.5 mm.
///
/// # Errors
/// Series 1 does not have the size; the error lists what there is.
///
/// # Source
/// EN 10220 (series 1 equals that of ISO 4200), from memory; tolerance of EN 10216-1 and EN 10217-1
/// from memory, the same +-1 % or 0.5 mm seen for fittings of EN 10253-4.
///
/// # Example
/// ```
/// let diameter = flowdoubt::pipe::en_10220_outside_diameter("DN 65")?;
/// assert_eq!(diameter.estimate, 76.1e-3);
/// # Ok::<(), flowdoubt::Error>(())
/// ```
pub fn en_10220_outside_diameter(size: &str) -> Result<Range> {
    let line = find_size(en_10220_table()?, size)?;
    let estimate = line.outside_diameter;
    Ok(Range {
        estimate,
        half_width: (0.01 * estimate).max(0.5 * MM),
    })
}

/// Wall in m of an accepted steel tube of nominal wall `nominal` in m: +-12.5 %, at least
/// +-0.4 mm.
///
/// # Source
/// EN 10216-1, seamless tubes, from memory; welded tubes of EN 10217-1 are kept within +-10 %, at
/// least +-0.3 mm.
pub fn en_10216_wall(nominal: f64) -> Range {
    Range {
        estimate: nominal,
        half_width: (0.125 * nominal).max(0.4 * MM),
    }
}

/// The standard dimension ratios of polyethylene pipe, ISO 4427-2.
pub const SDR: [f64; 11] = [
    6.0, 7.4, 9.0, 11.0, 13.6, 17.0, 17.6, 21.0, 26.0, 33.0, 41.0,
];

/// Dimensions in m of a plastic pipe from its nominal outside diameter `dn` in m and its standard
/// dimension ratio.
///
/// ```text
/// e = dn / SDR                     nominal wall
/// 0.995 e - 0.1 mm <= wall <= 1.125 e + 0.3 mm
/// dn <= outside diameter <= dn + max(0.3 mm, 0.009 dn + 0.1 mm)
/// ```
///
/// The nominal wall is the *least* wall, so the estimate of the wall is larger. The standard takes
/// the ratio from preferred numbers and rounds the wall up, so `dn / SDR` differs by up to 2 % from
/// the tabulated least wall; the range holds both limits as tabulated. Grade A of the diameter.
///
/// # Errors
/// `sdr` is not among [`SDR`], or `dn` is outside 16 mm to 2000 mm.
///
/// # Source
/// ISO 4427-2 (rule), ISO 11922-1 (tolerances), read off the tables that MS 1058-2:2005 reproduces,
/// as seen on public pages.
///
/// # Example
/// ```
/// let pipe = flowdoubt::pipe::plastic_pipe(0.110, 11.0)?;
/// assert!((pipe.nominal_wall - 10.0e-3).abs() < 1e-15);
/// assert!(pipe.wall.lower() < 10.0e-3 && pipe.wall.upper() > 11.1e-3);
/// # Ok::<(), flowdoubt::Error>(())
/// ```
pub fn plastic_pipe(dn: f64, sdr: f64) -> Result<Dimensions> {
    Error::range(
        (0.016..=2.0).contains(&dn),
        "pipe.nominal_diameter",
        dn,
        "m",
        "0.016 m to 2 m",
    )?;
    if !SDR.contains(&sdr) {
        let names = SDR.map(|ratio| ratio.to_string());
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let found = sdr.to_string();
        return Err(unknown("pipe.sdr", &found, &found, &names));
    }
    let e = dn / sdr;
    Ok(Dimensions {
        nominal_outside_diameter: dn,
        nominal_wall: e,
        outside_diameter: Range::between(dn, dn + (0.3 * MM).max(0.009 * dn + 0.1 * MM)),
        wall: Range::between(0.995 * e - 0.1 * MM, 1.125 * e + 0.3 * MM),
    })
}

/// The line of a nominal size.
fn find_size(table: &'static [Line], size: &str) -> Result<&'static Line> {
    let has_nps = table.iter().any(|line| !line.nps.is_empty());
    let upper = size.trim().to_ascii_uppercase();
    let found = if let Some(dn) = upper.strip_prefix("DN") {
        table.iter().find(|line| line.dn == dn.trim())
    } else if has_nps {
        let wanted = inches(&bare(size, &["NPS"]));
        let same = |line: &&Line| wanted.is_some() && inches(line.nps) == wanted;
        table.iter().find(same)
    } else {
        table.iter().find(|line| line.dn == upper)
    };
    found.ok_or_else(|| {
        if has_nps && !upper.starts_with("DN") {
            let names: Vec<&str> = table.iter().map(|line| line.nps).collect();
            return unknown("pipe.size", size, &bare(size, &["NPS"]), &names);
        }
        let names: Vec<String> = table.iter().map(|line| format!("DN {}", line.dn)).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        unknown("pipe.size", size, &upper, &names)
    })
}

/// Text in capitals without one of the prefixes and without a unit of inches.
fn bare(text: &str, prefixes: &[&str]) -> String {
    let upper = text.trim().to_ascii_uppercase();
    let prefix = prefixes.iter().find(|prefix| upper.starts_with(**prefix));
    let rest = &upper[prefix.map_or(0, |prefix| prefix.len())..];
    let unit = ["INCH", "IN", "\""]
        .into_iter()
        .find(|unit| rest.ends_with(unit));
    rest[..rest.len() - unit.map_or(0, str::len)]
        .trim()
        .to_owned()
}

/// The number of a nominal size such as `1 1/4`, `1-1/4` or `1.25`.
fn inches(text: &str) -> Option<f64> {
    let fraction = |text: &str| -> Option<f64> {
        let Some((above, below)) = text.split_once('/') else {
            return text.parse().ok();
        };
        let (above, below) = (above.parse::<u8>().ok()?, below.parse::<u8>().ok()?);
        Some(f64::from(above) / f64::from(below))
    };
    let parts = text.split([' ', '-']).filter(|part| !part.is_empty());
    parts.map(fraction).sum()
}

/// The error of a name that a table does not have. Of numbers the nearest by value is suggested, of
/// other names the nearest in spelling.
fn unknown(field: &str, found: &str, wanted: &str, allowed: &[&str]) -> Error {
    let value = |name: &str| inches(name.trim_start_matches("DN").trim_end_matches('S').trim());
    let by_value = value(wanted).filter(|v| v.is_finite()).and_then(|wanted| {
        let distances = allowed.iter().filter_map(|name| {
            let distance = (value(name)? - wanted).abs();
            Some((distance, *name))
        });
        distances.min_by(|a, b| a.0.total_cmp(&b.0))
    });
    Error::UnknownName {
        field: field.to_owned(),
        found: found.to_owned(),
        nearest: match by_value {
            Some((_, name)) => Some(name.to_owned()),
            None => nearest(wanted, allowed.iter().copied()),
        },
        allowed: allowed.iter().map(|name| (*name).to_owned()).collect(),
    }
}
