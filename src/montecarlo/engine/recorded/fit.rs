//! Functions of one or two numbers as polynomials over the range of their arguments.
//!
//! What a model computes of few numbers, such as the viscosity of water at a temperature, it
//! computes for the whole range of a handbook, and with iterations. The trials of one site need it
//! over a few kelvin, where a polynomial of a dozen terms has the same nine digits.

use crate::scalar::chebyshev::{Interpolation, in_powers, points};
use crate::scalar::math::horner;
use std::cmp::Ordering;

/// A function over a box of its arguments, which are one or two.
#[derive(Debug, Clone)]
pub(super) struct Fit {
    pub sides: Vec<Side>,
    pub polynomial: Polynomial,
}

/// The range of an argument; `(x - middle) per_half_width` is from -1 to 1.
#[derive(Debug, Clone, Copy)]
pub(super) struct Side {
    pub middle: f64,
    pub per_half_width: f64,
}

/// Coefficients of the powers of the second variable, the lowest first, for each power of the
/// first. A polynomial in one variable has one row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Polynomial {
    pub rows: Vec<Vec<f64>>,
}

/// Points on each side of the box of one argument and of two: a function that needs as many terms is
/// left as it is.
const POINTS: [&[usize]; 2] = [&[16], &[10, 22]];
/// Points where a fit is compared with the function.
const CHECKS: usize = 64;
/// Largest error of a fit, over the largest value of the function: far below that of any formula
/// for a liquid or a profile, and below what any number of trials resolves.
const TOLERANCE: f64 = 1e-9;
/// Coefficients that are left out are smaller than this, over the largest value of the function.
const NEGLIGIBLE: f64 = 1e-10;
/// The share of the arguments seen, at either end, whose spread tells how far others may lie beyond.
const TAIL: f64 = 1.0 / 32.0;
/// How far the box reaches beyond the arguments seen, in spreads of their tail: with 512 normal ones
/// to four standard deviations, with ones that are bounded a little further. Outside the box the
/// function itself is evaluated, so that a margin saves much; but it may reach where there is no
/// function.
const MARGINS: [f64; 2] = [1.0, 0.05];

/// What gives the values of a function for columns of its arguments.
pub(super) trait Columns: Fn(&[Vec<f64>]) -> Vec<f64> {}
impl<F: Fn(&[Vec<f64>]) -> Vec<f64>> Columns for F {}

impl Fit {
    /// The function over the box that the arguments seen need, if a polynomial gives it there;
    /// `seen` has a column for each argument.
    pub fn of(seen: &[Vec<f64>], function: impl Columns) -> Option<Fit> {
        MARGINS.iter().find_map(|margin| {
            let sides = seen.iter().map(|x| Side::of(x, *margin));
            Fit::over(sides.collect::<Option<_>>()?, &function)
        })
    }

    fn over(sides: Vec<Side>, function: &impl Columns) -> Option<Fit> {
        let counts = *POINTS.get(sides.len().checked_sub(1)?)?;
        let grid = grid(counts);
        let values = function(&at(&sides, &grid));
        let largest = values.iter().fold(0.0, |most: f64, y| most.max(y.abs()));
        if !values.iter().all(|y| y.is_finite()) {
            return None;
        }
        let polynomial = Polynomial::through(&values, counts, NEGLIGIBLE * largest)?;
        let fit = Fit { sides, polynomial };
        (fit.error(function) <= TOLERANCE * largest).then_some(fit)
    }

    /// The largest error at points of their own; infinite if the function is not a number there.
    fn error(&self, function: &impl Columns) -> f64 {
        // multiples of irrational numbers fill a square evenly
        let steps = [0.754_877_666, 0.569_840_291];
        let place = |k: usize, step: f64| 2.0 * (k as f64 * step).fract() - 1.0;
        let places = steps.iter().take(self.sides.len());
        let column = |step: &f64| (1..=CHECKS).map(|k| place(k, *step)).collect();
        let places: Vec<Vec<f64>> = places.map(column).collect();
        let values = function(&at(&self.sides, &places));
        let errors = values.iter().enumerate().map(|(k, y)| {
            let fitted = match &places[..] {
                [x] => self.polynomial.in_one(x[k]),
                [x, y] => self.polynomial.in_two(x[k], y[k]),
                _ => f64::NAN,
            };
            (fitted - y).abs()
        });
        let finite = |e: f64| if e.is_nan() { f64::INFINITY } else { e };
        errors.map(finite).fold(0.0, f64::max)
    }
}

/// The points of a grid with so many on each side, a column for each; the last changes fastest.
fn grid(counts: &[usize]) -> Vec<Vec<f64>> {
    let size: usize = counts.iter().product();
    let mut period = size;
    let column = |count: &usize| {
        let unit = points(*count);
        period /= count;
        (0..size).map(|k| unit[k / period % count]).collect()
    };
    counts.iter().map(column).collect()
}

/// Columns of places from -1 to 1 as columns of arguments.
fn at(sides: &[Side], places: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let pairs = sides.iter().zip(places);
    pairs
        .map(|(side, column)| column.iter().map(|u| side.at(*u)).collect())
        .collect()
}

impl Side {
    /// The range of the arguments seen, with so many spreads of its tails at either end; `None` if it
    /// has no width.
    fn of(seen: &[f64], margin: f64) -> Option<Side> {
        // the outermost value and the one where its tail begins
        let mut seen = seen.to_vec();
        let tail = (TAIL * seen.len() as f64) as usize;
        seen.first()?;
        let mut end = |order: fn(&f64, &f64) -> Ordering| {
            let (beyond, inner, _) = seen.select_nth_unstable_by(tail, order);
            let outer = beyond.iter().copied().min_by(order).unwrap_or(*inner);
            outer + margin * (outer - *inner)
        };
        let low = end(f64::total_cmp);
        let high = end(|a, b| b.total_cmp(a));
        let (middle, half_width) = (0.5 * (low + high), 0.5 * (high - low));
        // if narrower, the variable would have no digits left
        let wide = half_width > 1e-9 * middle.abs() && half_width.is_finite();
        let per_half_width = half_width.recip();
        let side = Side {
            middle,
            per_half_width,
        };
        (wide && per_half_width.is_finite()).then_some(side)
    }

    /// The place of an argument, from -1 to 1 in the box.
    #[inline(always)]
    pub fn unit(self, x: f64) -> f64 {
        (x - self.middle) * self.per_half_width
    }

    /// Whether an argument is in the box.
    #[inline(always)]
    pub fn holds(self, x: f64) -> bool {
        self.unit(x).abs() < 1.0
    }

    /// The argument at a place from -1 to 1.
    fn at(self, unit: f64) -> f64 {
        self.middle + unit / self.per_half_width
    }
}

impl Polynomial {
    /// The polynomial with these values on the grid of so many [`points`] on each side, less its
    /// negligible terms; `None` if more terms would be needed than there are points.
    fn through(values: &[f64], counts: &[usize], negligible: f64) -> Option<Polynomial> {
        let columns = *counts.last()?;
        let along_row = Interpolation::new(columns);
        let rows = values.chunks(columns).map(|row| along_row.series(row));
        let mut rows: Vec<Vec<f64>> = rows.collect();
        let count = rows.len();
        if count > 1 {
            let along_column = Interpolation::new(count);
            for j in 0..columns {
                let column: Vec<f64> = rows.iter().map(|row| row[j]).collect();
                let series = along_column.series(&column);
                rows.iter_mut().zip(series).for_each(|(row, c)| row[j] = c);
            }
        }
        for row in &mut rows {
            let counts = |c: &f64| c.abs() > negligible;
            row.truncate(row.iter().rposition(counts).map_or(0, |last| last + 1));
            if row.len() == columns {
                return None;
            }
        }
        rows.truncate(rows.iter().rposition(|row| !row.is_empty())? + 1);
        if count > 1 && rows.len() == count {
            return None;
        }
        let row_in_powers = |row: &Vec<f64>| match row.is_empty() {
            true => Vec::new(),
            false => in_powers(row, 0.0, |sum, factor, c| *sum += factor * c),
        };
        let rows: Vec<Vec<f64>> = rows.iter().map(row_in_powers).collect();
        let rows = in_powers(&rows, Vec::new(), |sum: &mut Vec<f64>, factor, row| {
            sum.resize(sum.len().max(row.len()), 0.0);
            sum.iter_mut().zip(row).for_each(|(s, c)| *s += factor * c);
        });
        Some(Polynomial { rows })
    }

    /// The value of a polynomial in one variable, as blocks of numbers compute it.
    fn in_one(&self, x: f64) -> f64 {
        self.rows.first().map_or(0.0, |row| horner(row, &[x])[0])
    }

    /// The value of a polynomial in two variables, as blocks of numbers compute it.
    fn in_two(&self, x: f64, y: f64) -> f64 {
        let rows = self.rows.iter().rev();
        rows.fold(0.0, |sum, row| sum * x + horner(row, &[y])[0])
    }
}
