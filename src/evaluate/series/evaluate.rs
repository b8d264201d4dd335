//! The evaluation of a log: which rows are used, what they come to, and their total.

use super::blocks::{Weighted, block_range, some_blocks};
use super::integration::{Timing, Weights};
use super::periods;
use super::rejected_rows::{no_row, reject_refused, reject_unordered, whole_rows, without_faults};
use super::rows::{BLOCK, Block};
use super::scatter::scatter_of;
use super::total::check_correlations;
use super::totals_of_parts::{directions, merged, period_totals};
use super::warnings::{calibration_warnings, clock_warnings, warnings};
use super::{Counts, Log, Rule, Series, SeriesOptions, Times};
use crate::error::{Error, Result};
use crate::evaluate::Channel;
use crate::evaluate::times::{rising, usual_step};
use crate::site::Site;
use crate::watch::{Watch, look, unwatched};

impl Site {
    /// Evaluates a log row by row, and its total volume.
    ///
    /// ```text
    /// V = sum_i w_i Q_i,   w_i: the time that row i stands for
    /// u^2(V) = sum_jk S_j S_k u_j u_k r_jk + sum_ch g_ch s_ch^2 sum_i (w_i c_i,ch)^2,   S_j = sum_i w_i c_ij
    /// ```
    /// What is known of pipe, liquid, path and meter is the same in all rows, so its deviation is too:
    /// it stays correlated through time and does not average out. The uncertainty of the profile law and
    /// those of the formulations depend on the state of the row; each is one deviation, scaled to the
    /// size it has in the row. The scatter of single readings averages out, and the more slowly the
    /// longer it lasts: `g_ch` rows count as one independent row. It is stated in the options or
    /// estimated from second differences of rows and of means of rows that follow each other, which
    /// leave out the course of the flow; where the meter is known to damp its readings, the options
    /// say so. Times are exact.
    ///
    /// Rows of which the time or a reading is missing, whose times do not rise, or to which no
    /// measurement can have led are rejected with the reason. Of times that go back and forth the
    /// largest set that rises is used. A step longer than usual is a gap, and not in the total unless
    /// asked for.
    ///
    /// Counts (pulses, a counter or a totaliser that goes on) are flows over the time since the row
    /// before, whatever the rule; of a counter that goes on no step is a gap, since it goes on.
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
    /// // half an hour at 1044 m3/h
    /// assert!((series.total.estimate - 520.75).abs() < 0.1);
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
        mut options: SeriesOptions,
        watch: &mut Watch<'_>,
    ) -> Result<Series> {
        let factor = options.gap_factor;
        let usable = factor > 1.0 && factor.is_finite();
        Error::range(usable, "gap_factor", factor, "", "above 1, in usual steps")?;
        options.faults.check()?;
        if let Some(cut_off) = options.low_flow_cut_off {
            let usable = cut_off > 0.0 && cut_off.is_finite();
            Error::range(usable, "low_flow_cut_off", cut_off, "m3/s", "above 0")?;
        }
        for (channel, _) in &options.repeatability {
            if channel.is_counted() {
                return Err(Error::Conflict {
                    field: format!("repeatability.{}", channel.name()),
                    found: "a scatter of counts".to_owned(),
                    allowed: "that of volume_flow, which counts make".to_owned(),
                });
            }
        }
        let mut channels = self.wanted_channels(&log.channels())?;
        check_correlations(self, &channels)?;

        let all_rows = log.rows as u64;
        let seconds = log.times.seconds(log.rows);
        let mut rejected = Vec::new();
        let whole = whole_rows(log, &channels, &seconds, &mut rejected);
        look(watch, 0, all_rows)?;
        let period = self.frequency.map(|frequency| 1.0 / frequency);
        let (whole, kept) = without_faults(
            log,
            &channels,
            &seconds,
            whole,
            (&options, period),
            &mut rejected,
        );
        look(watch, 0, all_rows)?;
        let (mut used, resets) = rising(&seconds, &whole);
        reject_unordered(&seconds, &whole, &used, &mut rejected);
        let step = match log.times {
            Times::Interval(interval) => interval,
            _ => usual_step(&seconds, &used),
        };
        let mut counts = None;
        for channel in &mut channels {
            if let Some(counter) = self.counter(*channel)? {
                let longest = options.gap_factor * step;
                let steps = (longest, step);
                let (flows, rest) =
                    self.flows_of_counts(&counter, log, &seconds, used, steps, &mut rejected);
                (counts, used) = (Some(flows), rest);
                *channel = Channel::VolumeFlow;
                options.rule = Rule::Since;
            }
        }
        let log = counts.as_ref().unwrap_or(log);
        if used.is_empty() {
            return Err(no_row(log.rows, rejected.first()));
        }
        look(watch, 0, all_rows)?;
        let options = options;
        let timing = Timing {
            seconds: &seconds,
            usual_step: step,
            options: &options,
            since: log.counted.as_ref().map(|counted| counted.since.as_slice()),
        };
        let weights = Weights::of(&timing, &used);
        look(watch, 0, all_rows)?;
        let scatter = {
            let damping = options.damping.or(self.damping);
            scatter_of(
                log,
                &channels,
                &used,
                &weights,
                &options,
                damping.zip(Some(step)),
                watch,
            )?
        };
        look(watch, 0, all_rows)?;
        let mut rows = self.rows_of(log, &channels, &used, &scatter, &options)?;
        rows.counted.clone_from(&log.counted);

        let all: Vec<usize> = (0..used.len().div_ceil(BLOCK)).collect();
        let periods = match options.period {
            Some(period) => {
                let zone = log.clock.as_ref().map(|clock| clock.zone.as_str());
                periods::limits(period, &log.times, zone, &timing, &used)?
            }
            None => Vec::new(),
        };
        let mut shares = periods::shares(&periods, &timing, &used, &used);
        look(watch, 0, all_rows)?;
        let weighted = Weighted {
            log,
            used: &used,
            weights: &weights.of,
            shares: &shares,
        };
        let mut blocks = some_blocks(&rows, &weighted, &all, watch)?;
        let valid = reject_refused(&mut blocks, &seconds, &used, &mut rejected);
        if valid.is_empty() {
            return Err(no_row(log.rows, rejected.first()));
        }
        let weights = if valid.len() < used.len() {
            // rows that fell out leave gaps, which change the weights of their neighbours
            let anew = Weights::of(&timing, &valid);
            let places = anew.at(&valid, &used);
            let changed = |number: &usize| {
                let range = block_range(*number, used.len());
                places[range.clone()] != weights.of[range]
            };
            let changed: Vec<usize> = (0..blocks.len()).filter(changed).collect();
            let mut done = |_| watch(used.len() as u64);
            shares = periods::shares(&periods, &timing, &valid, &used);
            let weighted = Weighted {
                log,
                used: &used,
                weights: &places,
                shares: &shares,
            };
            let again = some_blocks(&rows, &weighted, &changed, &mut done)?;
            for (number, block) in changed.into_iter().zip(again) {
                blocks[number] = block;
            }
            anew
        } else {
            weights
        };
        rejected.sort_by_key(|rejected| rejected.row);

        let sums = merged(&blocks);
        look(watch, all_rows, all_rows)?;
        let count = |code: &str| rejected.iter().filter(|r| r.reason.code() == code).count();
        let counts = Counts {
            rows: log.rows,
            used: valid.len(),
            no_time: count("no-time"),
            not_a_number: count("not-a-number"),
            duplicate: count("duplicate"),
            out_of_order: count("out-of-order"),
            status: count("status"),
            signal: count("signal"),
            error_code: count("error-code"),
            inconceivable: count("inconceivable"),
            spike: count("spike"),
            current_fault: count("current-fault"),
            counter_start: count("counter-start"),
            counter_reset: count("counter-reset"),
            skipped_period: count("skipped-period"),
            velocity: count("velocity"),
            sound_speed: count("sound-speed"),
            outside_model: count("outside-model"),
            resets,
            gaps: weights.gaps.len(),
            below_cut_off: sums.idle,
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
        let stretches = weights.gaps.len() + 1;
        let total = sums.budget(&rows, &scatter, stretches)?;
        let mut warnings = warnings(log, &channels, &valid, &scatter, &total, kept);
        warnings.extend(calibration_warnings(sums.beyond, valid.len()));
        warnings.extend(clock_warnings(log, &seconds, &whole, &weights.gaps, step));
        look(watch, all_rows, all_rows)?;
        let mut gaps = weights.gaps;
        gaps.iter_mut()
            .for_each(|gap| gap.fill(&flow, options.gaps));
        Ok(Series {
            site: self.clone(),
            total,
            directions: directions(&rows, &blocks, &scatter, stretches)?,
            periods: period_totals(&rows, &blocks, periods, &shares, &scatter, &gaps)?,
            readings: channels,
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
            signal: log.signal.clone(),
            clock: log.clock.clone(),
            format: log.format.clone(),
            warnings,
        })
    }
}
