//! The evaluation of a log: which rows are used, what they come to, and their total.

use super::clock::{rising, usual_step};
use super::integration::Weights;
use super::rows::{BLOCK, Block, Reading, Rows, Varying};
use super::scatter::of_differences;
use super::total::{Scatter, Sums, check_correlations};
use super::{Counts, Log, Reason, Rejected, Series, SeriesOptions, Times};
use crate::error::{Error, Result};
use crate::evaluate::Channel;
use crate::model::Quantity;
use crate::montecarlo::{Units, Watch, unwatched};
use crate::site::Site;
use crate::uncertainty::{Input, InputSet};
use std::ops::Range;

impl Site {
    /// Evaluates a log row by row, and its total volume.
    ///
    /// ```text
    /// V = sum_i w_i Q_i,   w_i: the time that row i stands for
    /// u^2(V) = sum_jk S_j S_k u_j u_k r_jk + sum_ch s_ch^2 sum_i (w_i c_i,ch)^2,   S_j = sum_i w_i c_ij
    /// ```
    /// What is known of pipe, liquid, path and meter is the same in all rows, so its deviation is too:
    /// it stays correlated through time and does not average out. The doubt of the profile law and
    /// those of the formulations depend on the state of the row; each is one deviation, scaled to the
    /// size it has in the row. The scatter of single readings is independent from row to row and
    /// averages out. It is stated in the options or estimated from differences of rows that follow
    /// each other, in which flow that varies from row to row is contained as well; readings that the
    /// meter damps differ by less than they scatter, and theirs should be stated. Times are exact.
    ///
    /// Rows of which the time or a reading is missing, whose times do not rise, or to which no
    /// measurement can have led are rejected with the reason. Of times that go back and forth the
    /// largest set that rises is used. A step longer than usual is a gap, and not in the total unless
    /// asked for.
    ///
    /// # Errors
    /// A column that the basis needs and the log lacks; too few rows to judge a scatter that is not
    /// stated; no row that can be used; a correlation of readings; and those of [`Site::evaluate`]
    /// that do not depend on the row.
    ///
    /// # Source
    /// JCGM 100:2008, 5.2 and G.4.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::{evaluate::{Log, SeriesOptions}, site::Site};
    /// let site = Site::load("notebooks/demo/site.toml")?;
    /// let log = Log::from_csv("notebooks/demo/readings.csv", None)?;
    /// let series = site.evaluate_series(&log, SeriesOptions::default())?;
    /// assert_eq!((series.counts.used, series.duration), (360, 1795.0));
    /// // half an hour at 1049 m3/h
    /// assert!((series.total.estimate - 523.0).abs() < 0.1);
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn evaluate_series(&self, log: &Log, options: SeriesOptions) -> Result<Series> {
        self.evaluate_series_watched(log, options, &mut unwatched)
    }

    /// As [`Site::evaluate_series`], with a watch that is told the number of rows done and may end it.
    ///
    /// # Errors
    /// As [`Site::evaluate_series`], and [`Error::Cancelled`].
    pub fn evaluate_series_watched(
        &self,
        log: &Log,
        options: SeriesOptions,
        watch: &mut Watch<'_>,
    ) -> Result<Series> {
        let factor = options.gap_factor;
        let usable = factor > 1.0 && factor.is_finite();
        Error::range(usable, "gap_factor", factor, "", "above 1, in usual steps")?;
        let channels = self.wanted_channels(&log.channels())?;
        check_correlations(self, &channels)?;

        let seconds = log.times.seconds(log.rows);
        let mut rejected = Vec::new();
        let whole = whole_rows(log, &channels, &seconds, &mut rejected);
        let (used, resets) = rising(&seconds, &whole);
        reject_unordered(&seconds, &whole, &used, &mut rejected);
        let step = match log.times {
            Times::Interval(interval) => interval,
            _ => usual_step(&seconds, &used),
        };
        if used.is_empty() {
            return Err(no_row(log.rows, rejected.first()));
        }
        let weights = Weights::of(&seconds, &used, step, &options);
        let scatter = scatter_of(log, &channels, &used, &weights, &options)?;
        let rows = self.rows_of(log, &channels, &used, &scatter)?;

        let all: Vec<usize> = (0..used.len().div_ceil(BLOCK)).collect();
        let mut blocks = some_blocks(&rows, log, &used, &weights.of, &all, watch)?;
        let valid = reject_refused(&mut blocks, &seconds, &used, &mut rejected);
        let weights = if valid.len() < used.len() {
            // rows that fell out leave gaps, which change the weights of their neighbours
            let anew = Weights::of(&seconds, &valid, step, &options);
            let places = anew.at(&valid, &used);
            let changed = |number: &usize| {
                let range = block_range(*number, used.len());
                places[range.clone()] != weights.of[range]
            };
            let changed: Vec<usize> = (0..blocks.len()).filter(changed).collect();
            let mut done = |_| watch(used.len() as u64);
            let again = some_blocks(&rows, log, &used, &places, &changed, &mut done)?;
            for (number, block) in changed.into_iter().zip(again) {
                blocks[number] = block;
            }
            anew
        } else {
            weights
        };
        rejected.sort_by_key(|rejected| rejected.row);

        let sums = merged(&blocks);
        let count = |code: &str| rejected.iter().filter(|r| r.reason.code() == code).count();
        let counts = Counts {
            rows: log.rows,
            used: valid.len(),
            no_time: count("no-time"),
            not_a_number: count("not-a-number"),
            duplicate: count("duplicate"),
            out_of_order: count("out-of-order"),
            outside_model: count("outside-model"),
            resets,
            gaps: weights.gaps.len(),
            laminar: sums.laminar,
            transition: sums.transition,
        };
        let column = |of: fn(&Block) -> &Vec<f64>| {
            let mut column = vec![f64::NAN; log.rows];
            let values = blocks.iter().flat_map(of);
            used.iter()
                .zip(values)
                .for_each(|(row, value)| column[*row] = *value);
            column
        };
        let flow = column(|block| &block.flow);
        let mut gaps = weights.gaps;
        gaps.iter_mut()
            .for_each(|gap| gap.fill(&flow, options.gaps));
        Ok(Series {
            site: self.clone(),
            total: sums.budget(&rows, &scatter, &counts)?,
            standard_uncertainty: column(|block| &block.standard_uncertainty),
            random_uncertainty: column(|block| &block.random_uncertainty),
            reynolds: column(|block| &block.reynolds),
            options,
            seconds,
            flow,
            duration: weights.duration,
            usual_step: step,
            rejected,
            gaps,
            counts,
        })
    }

    /// The model with its inputs as they are in the first of the rows `used` that is valid.
    fn rows_of(
        &self,
        log: &Log,
        channels: &[Channel],
        used: &[usize],
        scatter: &[Scatter],
    ) -> Result<Rows<'_>> {
        let terms_of = |row: usize| -> Result<Vec<(Quantity, Input)>> {
            let mut read = Vec::new();
            for channel in channels {
                let quantity = channel.quantity();
                let Some(column) = log.column(*channel) else {
                    continue; // not reached: the log has the channels wanted
                };
                let component = quantity.component(self.skeleton.choices().basis);
                let input = Input::exact(&quantity.path(), column.values[row])?
                    .shown_in(column.unit.clone())
                    .in_component(component.in_words());
                read.push((quantity, input));
            }
            let mut terms = self.stated_with(read);
            self.steps_at(&terms)?;
            terms.extend(self.formulation_inputs(&terms));
            terms.extend(self.installation_inputs(&terms)?);
            terms.extend(self.ovality_input(&terms)?);
            Ok(terms)
        };
        let mut first_error = None;
        let mut found = None;
        for row in used {
            match terms_of(*row) {
                Ok(terms) => {
                    found = Some(terms);
                    break;
                }
                Err(error) => {
                    first_error.get_or_insert(error);
                }
            }
        }
        let mut terms = match (found, first_error) {
            (Some(terms), _) => terms,
            (None, Some(error)) => return Err(error),
            (None, None) => return Err(no_row(log.rows, None)),
        };
        let stated = |q: Quantity| self.stated.iter().any(|(other, _)| *other == q);
        let mut varying_quantities = vec![
            Quantity::DensityFactor,
            Quantity::ViscosityFactor,
            Quantity::SoundSpeedFactor,
        ];
        varying_quantities.retain(|q| !stated(*q));
        if self.derive_law_doubt {
            terms.push(self.law_input(0.0, String::new())?);
            varying_quantities.push(Quantity::LawFactor);
            let friction_acts = self.skeleton.choices().law.follows_friction();
            if friction_acts && !stated(Quantity::FrictionRatio) {
                terms.push(self.friction_input(0.0, String::new())?);
                varying_quantities.push(Quantity::FrictionRatio);
            }
            if !stated(Quantity::TransitionReynolds) {
                terms.push(self.transition_input(String::new())?);
            }
        }
        terms.sort_by_key(|(quantity, _)| quantity.index());
        let place = |q: Quantity, name: &str| {
            let own = |(other, input): &(Quantity, Input)| *other == q && input.name() == name;
            terms.iter().position(own)
        };
        let readings = channels
            .iter()
            .zip(scatter)
            .filter_map(|(channel, scatter)| {
                let quantity = channel.quantity();
                Some(Reading {
                    channel: *channel,
                    place: place(quantity, &quantity.path())?,
                    scatter: scatter.repeatability.standard_deviation,
                })
            });
        let readings = readings.collect();
        let varying = varying_quantities.into_iter().filter_map(|quantity| {
            let place = place(quantity, &quantity.path())?;
            Some(Varying { place, quantity })
        });
        let varying = varying.collect();
        let (quantities, inputs): (Vec<_>, Vec<_>) = terms.into_iter().unzip();
        let model = self.skeleton.clone();
        let model = model.with_terms(quantities, self.flow_unit.clone());
        Rows::new(
            self,
            model,
            self.correlated_where_known(inputs)?,
            readings,
            varying,
        )
    }

    /// The inputs with those of the stated correlations whose inputs there are. Whether the others
    /// name what does not exist comes to light with the budget of the total.
    fn correlated_where_known(&self, inputs: Vec<Input>) -> Result<InputSet> {
        let known = |name: &String| inputs.iter().any(|input| input.name() == name);
        let pairs = self.correlations.iter().map(|stated| &stated.pair);
        let pairs: Vec<_> = pairs
            .filter(|(a, b, _)| known(a) && known(b))
            .cloned()
            .collect();
        InputSet::correlated(inputs, &pairs)
    }
}

/// The rows of which time and all readings are known.
fn whole_rows(
    log: &Log,
    channels: &[Channel],
    seconds: &[f64],
    rejected: &mut Vec<Rejected>,
) -> Vec<usize> {
    let columns: Vec<_> = channels.iter().filter_map(|c| log.column(*c)).collect();
    let mut whole = Vec::with_capacity(log.rows);
    for (row, &time) in seconds.iter().enumerate() {
        let missing = columns.iter().find(|c| !c.values[row].is_finite());
        let reason = match missing {
            _ if !time.is_finite() => Reason::NoTime,
            Some(column) => Reason::NotANumber(column.channel),
            None => {
                whole.push(row);
                continue;
            }
        };
        rejected.push(Rejected {
            row,
            seconds: time,
            reason,
        });
    }
    whole
}

/// Rejects the rows that are whole but not among those whose times rise.
fn reject_unordered(
    seconds: &[f64],
    whole: &[usize],
    used: &[usize],
    rejected: &mut Vec<Rejected>,
) {
    let mut next = used.iter().peekable();
    for &row in whole {
        if next.next_if_eq(&&row).is_some() {
            continue;
        }
        let time = seconds[row];
        let place = used.partition_point(|other| seconds[*other] < time);
        let same = used.get(place).is_some_and(|other| seconds[*other] == time);
        rejected.push(Rejected {
            row,
            seconds: time,
            reason: if same {
                Reason::Duplicate
            } else {
                Reason::OutOfOrder
            },
        });
    }
}

/// Moves what blocks refuse to the rejected rows; what is left of the rows used is returned.
fn reject_refused(
    blocks: &mut [Block],
    seconds: &[f64],
    used: &[usize],
    rejected: &mut Vec<Rejected>,
) -> Vec<usize> {
    let mut valid = Vec::with_capacity(used.len());
    for (number, block) in blocks.iter_mut().enumerate() {
        let own = &used[block_range(number, used.len())];
        let mut refused = std::mem::take(&mut block.refused).into_iter().peekable();
        for (place, &row) in own.iter().enumerate() {
            match refused.next_if(|(other, _)| *other == place) {
                Some((_, error)) => rejected.push(Rejected {
                    row,
                    seconds: seconds[row],
                    reason: Reason::OutsideModel(error),
                }),
                None => valid.push(row),
            }
        }
    }
    valid
}

/// The places of the rows of a block among the rows used.
fn block_range(number: usize, rows: usize) -> Range<usize> {
    number * BLOCK..rows.min((number + 1) * BLOCK)
}

/// The blocks of some numbers.
fn some_blocks(
    rows: &Rows<'_>,
    log: &Log,
    used: &[usize],
    weights: &[f64],
    numbers: &[usize],
    watch: &mut Watch<'_>,
) -> Result<Vec<Block>> {
    let units = Units {
        range: 0..numbers.len() as u64,
        trials: BLOCK as u64,
        total: used.len() as u64,
        // a forked process has none of its parent's threads: do not ask for them unless needed
        parallel: numbers.len() > 1,
    };
    let mut blocks = Vec::with_capacity(numbers.len());
    let one = |unit: u64| {
        let range = block_range(numbers[unit as usize], used.len());
        Ok(rows.block(log, &used[range.clone()], &weights[range]))
    };
    units.work(watch, one, |block| blocks.push(block))?;
    Ok(blocks)
}

/// The sums of all blocks, in their order.
fn merged(blocks: &[Block]) -> Sums {
    let mut sums = blocks[0].sums.clone();
    blocks[1..].iter().for_each(|block| sums.merge(&block.sums));
    sums
}

/// The scatter of single readings of each channel: stated, or from differences of rows that follow
/// each other without a gap.
fn scatter_of(
    log: &Log,
    channels: &[Channel],
    used: &[usize],
    weights: &Weights,
    options: &SeriesOptions,
) -> Result<Vec<Scatter>> {
    let mut after_gap = weights.gaps.iter().map(|gap| gap.to_row).peekable();
    let follow = |pair: &&[usize]| after_gap.next_if_eq(&pair[1]).is_none();
    let following: Vec<&[usize]> = used.windows(2).filter(follow).collect();
    let of = |channel: &Channel| {
        let values = log
            .column(*channel)
            .map_or(&[][..], |column| &column.values);
        let stated = options.repeatability.iter().find(|(of, _)| of == channel);
        let repeatability = match stated {
            Some((_, stated)) => {
                let name = format!("repeatability.{}", channel.name());
                let (s, dof) = (stated.standard_deviation, stated.dof);
                let usable = s >= 0.0 && s.is_finite();
                Error::range(usable, &name, s, "", "standard deviation, 0 or above")?;
                Error::range(dof > 0.0, &name, dof, "", "degrees of freedom above 0")?;
                *stated
            }
            None => {
                let differences = following
                    .iter()
                    .map(|pair| values[pair[1]] - values[pair[0]]);
                of_differences(differences, channel.name())?
            }
        };
        let sum: f64 = used.iter().map(|row| values[*row]).sum();
        Ok(Scatter {
            repeatability,
            stated: stated.is_some(),
            differences: following.len(),
            mean: sum / used.len() as f64,
        })
    };
    channels.iter().map(of).collect()
}

/// Nothing is left to evaluate.
fn no_row(rows: usize, first: Option<&Rejected>) -> Error {
    let reason = match first.map(|rejected| &rejected.reason) {
        Some(Reason::NoTime) => "its time is missing or cannot be read".to_owned(),
        Some(Reason::NotANumber(channel)) => format!("{} is missing", channel.name()),
        Some(Reason::OutsideModel(error)) => error.to_string(),
        _ => "it has no reading".to_owned(),
    };
    Error::Conflict {
        field: "readings".to_owned(),
        found: format!("none of {rows} rows can be used; of the first, {reason}"),
        allowed: "rows with a time and all readings".to_owned(),
    }
}
