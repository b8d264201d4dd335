//! The steps of a site, in the order in which they are done.
//!
//! What to do is common practice of those who mount sensors, without a source, and each such step
//! says so; the numbers are those of the site.
//!
//! A further step is a method here, called in `all`, and its row in `sections!` (`read_form.rs`), with
//! `stated_by` in `found.rs` where the site file can take over what was noted. Its limits come from the
//! model (`expected_readings.rs`), or there are none; page, form and displays follow.

use super::CommissioningRequest;
use super::entry::{Entry, Expectation, Parts, Question, Step, in_four_digits, unit};
use super::expected_readings::{TimesAtRest, VELOCITY, mostly, of_placements};
use crate::error::Result;
use crate::evaluate::{BeforeReadings, Channel, Evaluation, Warning};
use crate::mark_out::{Conditions, MarkOut};
use crate::model::{AngleFrom, Basis, Quantity};
use crate::plan::{self, Expected, Repeatability};
use crate::site::Site;
use crate::uncertainty::{Budget, Input, Origin, plain, rounded};
use crate::units::{Dimension, Unit};

/// A site, and all that its steps are made of.
pub(super) struct Steps<'a> {
    site: &'a Site,
    request: &'a CommissioningRequest,
    before: BeforeReadings,
    /// The site at rest, its readings exact.
    rest: Evaluation,
    marks: Option<MarkOut>,
    times: Option<TimesAtRest>,
    /// What the foreseen flow leads to.
    flow: Option<Expected>,
}

impl<'a> Steps<'a> {
    /// All steps, with what must be known before.
    pub(super) fn of(
        site: &'a Site,
        request: &'a CommissioningRequest,
    ) -> Result<(Vec<Step>, Vec<Warning>)> {
        let u = request.temperature_standard_uncertainty;
        let before = site.before_readings(request.temperature.map(|kelvin| (kelvin, u)))?;
        let conditions = Conditions {
            temperature: request.temperature,
            temperature_standard_uncertainty: u,
            ..Conditions::default()
        };
        let indicated = before.model.choices().basis == Basis::Indicated;
        let marks = match site.mark_out(&conditions) {
            // a meter that indicates tells where its sensors go
            Err(_) if indicated => None,
            other => Some(other?),
        };
        let expected = |volume_flow: f64| {
            let at = plan::Conditions {
                volume_flow,
                temperature: request.temperature,
            };
            site.expected(&at, &Repeatability::default())
        };
        let all = Steps {
            site,
            request,
            rest: before.at_velocity(VELOCITY)?,
            times: TimesAtRest::of(site, &before)?,
            flow: request.flow.map(expected).transpose()?,
            marks,
            before,
        };
        let warnings = all.marks.as_ref().map(|marks| marks.warnings.clone());
        Ok((all.all()?, warnings.unwrap_or_default()))
    }

    fn all(&self) -> Result<Vec<Step>> {
        let mut steps = vec![
            self.permit(),
            self.place(),
            self.surface(),
            self.dimensions()?,
            self.marks()?,
            self.settings(),
            self.sensors(),
            self.signal(),
        ];
        steps.extend(self.temperature()?);
        steps.push(self.times()?);
        steps.push(self.zero()?);
        steps.push(self.direction()?);
        steps.push(self.placement()?);
        steps.push(self.left_behind());
        Ok(steps)
    }

    fn is_indicated(&self) -> bool {
        self.before.model.choices().basis == Basis::Indicated
    }

    fn entry(
        &self,
        key: &'static str,
        words: &'static str,
        quantity: Quantity,
        unit: Unit,
    ) -> Entry {
        Entry::new(key, words, (quantity, unit), self.site.coverage_probability)
    }

    /// The terms of a quantity.
    fn terms(&self, q: Quantity) -> impl Iterator<Item = &Input> + Clone {
        let terms = self
            .rest
            .model
            .terms()
            .iter()
            .zip(self.rest.inputs.inputs());
        terms.filter_map(move |(own, input)| (*own == q).then_some(input))
    }

    /// A quantity as the site file states it, to be read once more with the same instrument.
    fn read_again(
        &self,
        key: &'static str,
        words: &'static str,
        q: Quantity,
        unit: Unit,
    ) -> Result<Option<Entry>> {
        let entry = self.entry(key, words, q, unit);
        let Some(stated) = self.rest.estimate_of(q) else {
            return Ok(None);
        };
        let from_readings = |input: &Input| matches!(input.origin(), Origin::Readings { .. });
        let from = format!(
            "{} as stated, {}",
            q.path(),
            match self.terms(q).any(from_readings) {
                true => "and one more reading that scatters as these did",
                false =>
                    "what one more reading is uncertain by comes on top: note it with the reading",
            }
        );
        let expectation = Expectation::read_again(self.terms(q));
        entry.expecting(stated, expectation, from).map(Some)
    }

    fn permit(&self) -> Step {
        step(
            "permit",
            "Permit and cautions",
            "Have the permit of the plant. Hot or pressurised pipe, hazardous area, work at height, \
             mains supply: what the local codes ask for is in place before anything is touched."
                .to_owned(),
        )
    }

    fn place(&self) -> Step {
        let mut words = "Look whether the place is the one that the site file describes: fittings \
                         upstream and downstream, no weld, dent or flange under the sensors; on a \
                         horizontal pipe the sensors go to the sides, not to top (gas) or bottom \
                         (sediment); the pipe runs full."
            .to_owned();
        let lines = self.site.stated_lines();
        let run = lines
            .iter()
            .find(|line| line.input == "installation.straight_run");
        if let Some(run) = run {
            words += &format!(" Stated straight run: {} {}.", run.estimate, run.unit);
        }
        step("place", "Place", words)
    }

    fn surface(&self) -> Step {
        let layers = &self.before.model.choices().layers;
        let outside = |stays: bool| -> Vec<&str> {
            let own = layers.iter().filter(|layer| {
                let outside = layer.outside.as_ref();
                outside.is_some_and(|outside| outside.under_sensors == stays)
            });
            own.map(|layer| layer.name.as_str()).collect()
        };
        let (off, stay) = (outside(false), outside(true));
        let mut words =
            "Clean the surface where both sensors sit, wider and longer than they are: no \
                         loose rust, scale, dust or grease, smooth to the hand."
                .to_owned();
        if !off.is_empty() {
            words += &format!(" Take off {}, as the site file says.", off.join(", "));
        }
        if !stay.is_empty() {
            words += &format!(
                " Leave {} as the site file says, where it adheres firmly all over.",
                stay.join(", ")
            );
        }
        step("surface", "Surface", words)
    }

    fn dimensions(&self) -> Result<Step> {
        let mut made = step(
            "dimensions",
            "Circumference and wall at the place",
            "Measure once more where the sensors go, as the survey did: tape over what it was on, wall \
             at several places between and under the sensors. Note readings or a mean with its \
             uncertainty."
                .to_owned(),
        );
        let mm = || unit("mm", Dimension::Length);
        for (key, words, q) in [
            (
                "outside_circumference",
                "outside circumference",
                Quantity::OutsideCircumference,
            ),
            (
                "outside_diameter",
                "outside diameter",
                Quantity::OutsideDiameter,
            ),
            ("wall", "wall thickness", Quantity::Wall),
        ] {
            made.entries.extend(self.read_again(key, words, q, mm())?);
        }
        made.look_at = "place and instrument: tape square and taut, sound speed set in the gauge, \
                        paint or lining in the echo; then survey the pipe once more, for what is \
                        wrong here is wrong in the flow";
        Ok(made)
    }

    fn marks(&self) -> Result<Step> {
        let Some(marks) = &self.marks else {
            let mut made = step(
                "marks",
                "Marks",
                "Set the sensors at the spacing that the meter asks for; the site file leaves the \
                 sound path to it. Note the spacing."
                    .to_owned(),
            );
            let mm = unit("mm", Dimension::Length);
            let words = "axial spacing of the exit points";
            made.entries
                .push(self.entry("spacing", words, Quantity::Spacing, mm));
            return Ok(made);
        };
        let path = if marks.is_direct() {
            "direct path: the sensors on opposite sides, half the circumference apart"
        } else {
            "reflected path: both sensors on one line along the pipe"
        };
        let mut words =
            format!("Mark the exit points of both sensors and measure between the marks; {path}.");
        if let Some(slope) = marks.axial_sensitivity(marks.angle_from) {
            words += &match slope {
                0.0 => {
                    " The ray follows the wedge: a sensor that sits wrong costs signal, not flow, \
                        while it sits in the beam."
                        .to_owned()
                }
                slope => format!(
                    " 1 mm farther apart than evaluated is {} % of the flow.",
                    rounded(0.1 * slope, 2)
                ),
            };
        }
        let mut made = step("marks", "Marks", words);
        let known = |budget: &Budget| -> Parts {
            vec![(budget.standard_uncertainty, budget.effective_dof)]
        };
        let from = match marks.angle_from {
            AngleFrom::Spacing => "path.spacing as stated".to_owned(),
            AngleFrom::Wedge => format!(
                "what the path asks for, with the uncertainty of that{}",
                mostly(&marks.spacing)
            ),
        };
        let mm = || unit("mm", Dimension::Length);
        let entry = self.entry(
            "spacing",
            "axial spacing of the exit points",
            Quantity::Spacing,
            mm(),
        );
        let of = Expectation::of(known(&marks.spacing), Parts::new());
        made.entries
            .push(entry.expecting(marks.spacing.estimate, of, from)?);
        if marks.is_direct() {
            let half = &marks.half_circumference;
            let entry = self.entry(
                "half_circumference",
                "round the pipe from A to B",
                Quantity::OutsideCircumference,
                mm(),
            );
            let mut parts = known(half);
            parts.extend(
                self.terms(Quantity::Misplacement)
                    .map(|input| (input.standard_uncertainty(), input.dof())),
            );
            let of = Expectation::of(parts, Parts::new());
            let from = "half the circumference, and the misplacement that the site file allows for";
            made.entries.push(entry.expecting(half.estimate, of, from)?);
        }
        made.look_at = "marks: same reference point on both sensors, line along the pipe, belt square; \
                        then pipe, liquid and wedge of the site file";
        Ok(made)
    }

    fn settings(&self) -> Step {
        let steps = &self.rest.steps;
        let mm = |metres: f64| format!("{:.2} mm", 1e3 * metres);
        let mut named = vec![
            ("outside diameter", mm(steps.outside_diameter)),
            ("inside diameter", mm(steps.inside_diameter)),
            (
                "sound speed of the liquid",
                format!("{:.1} m/s", steps.liquid_sound_speed),
            ),
            (
                "kinematic viscosity",
                format!("{} mm2/s", rounded(1e6 * steps.kinematic_viscosity, 3)),
            ),
        ];
        named.retain(|(_, text)| !text.contains("NaN"));
        let named: Vec<String> = named
            .into_iter()
            .map(|(name, text)| format!("{name} {text}"))
            .collect();
        let traverses = self.before.model.choices().traverses;
        let mut words = format!(
            "Set the meter to this pipe, and save its settings. By the site file: {}, number of \
             traverses {traverses}.",
            named.join(", ")
        );
        if self.is_indicated() {
            words += " What is set belongs into [meter.programmed] of the site file, as it is and not \
                      as it should be.";
        }
        step("settings", "Settings of the meter", words)
    }

    fn sensors(&self) -> Step {
        let mut words = "Put couplant on the whole face of each sensor, fit for the temperature of the \
                         wall and for the time that it has to last; press the sensors on, A upstream, \
                         and fasten them; cables of equal length, A and B as marked."
            .to_owned();
        if let Some(couplant) = self.terms(Quantity::Couplant).next() {
            words += &format!(
                " The site file takes a couplant of {} mm.",
                plain(1e3 * couplant.estimate())
            );
        }
        let advice = self.rest.mounting_advice();
        if !advice.is_empty() {
            words += &format!(" Common practice: {}.", advice.join("; "));
        }
        step("sensors", "Couplant and sensors", words)
    }

    fn signal(&self) -> Step {
        let mut made = step(
            "signal",
            "Signal",
            "Look at the signal in both directions: present, steady, and about alike. How strong it \
             has to be, the meter's own documents say."
                .to_owned(),
        );
        made.questions = vec![
            question("with_the_flow", "present and steady with the flow?"),
            question("against_the_flow", "present and steady against the flow?"),
        ];
        made.look_at = "couplant, surface and marks; then gas in the liquid, a pipe that does not run \
                        full, deposit; then cables";
        made
    }

    fn temperature(&self) -> Result<Option<Step>> {
        let q = Quantity::Temperature;
        let Some(expected) = self.rest.estimate_of(q) else {
            return Ok(None);
        };
        let foreseen = self.request.temperature.is_some();
        let mut made = step(
            "temperature",
            "Temperature of the liquid",
            "Read the temperature of the liquid at the time of the steps that follow.".to_owned(),
        );
        if foreseen {
            made.words += " What is read here counts in place of the temperature foreseen: transit \
                           time and sound speed are then expected at it.";
        }
        let entry = self.entry(
            "temperature",
            "temperature of the liquid",
            q,
            unit("degC", Dimension::Temperature),
        );
        let parts: Parts = self
            .terms(q)
            .map(|input| (input.standard_uncertainty(), input.dof()))
            .collect();
        let from = if foreseen {
            "as foreseen, with the thermometer of the site file"
        } else {
            "liquid.temperature as stated"
        };
        // the planned temperature is no statement that a reading could contradict
        let of = match foreseen && self.request.temperature_standard_uncertainty == 0.0 {
            true => Expectation::default(),
            false => Expectation::of(parts, Parts::new()),
        };
        made.entries.push(entry.expecting(expected, of, from)?);
        made.look_at = "contact and insulation of the thermometer, and the state of operation; then \
                        the temperature in the site file";
        Ok(Some(made))
    }

    fn times(&self) -> Result<Step> {
        let mut made = step("times", "Transit time and sound speed", String::new());
        made.look_at = "a wrong peak of the signal, gas, a pipe that does not run full, another liquid \
                        or temperature; then wall, diameter and spacing";
        let speed = self.entry(
            "sound_speed",
            "sound speed of the liquid that the meter finds",
            Quantity::LiquidSoundSpeed,
            unit("m/s", Dimension::Velocity),
        );
        let Some(times) = &self.times else {
            let why = match self.is_indicated() {
                true => "leaves the sound path to the meter",
                false => "does not state the delay of the wedges",
            };
            made.words = format!(
                "Note the sound speed that the meter finds, and compare it with that of the liquid. The \
                 site file {why}, so that no transit time and no limits can be given."
            );
            let expected = self.rest.steps.liquid_sound_speed;
            let from = "the liquid of the site file";
            let entry = speed.expecting(expected, Expectation::default(), from)?;
            made.entries.push(entry);
            return Ok(made);
        };
        made.words =
            "Let the readings settle, then note the transit time, mean of both directions, and \
                      the sound speed that the meter finds if it shows one."
                .to_owned();
        let slopes = times.time_per_kelvin.zip(times.speed_per_kelvin);
        if let Some((time, speed)) = slopes {
            made.words += &format!(
                " Each kelvin warmer changes them by {} us and {} m/s.",
                rounded(1e6 * time, 2),
                rounded(speed, 2)
            );
        }
        let entry = self.entry(
            "transit_time",
            "transit time",
            Quantity::TransitTime,
            unit("us", Dimension::Time),
        );
        let from = format!(
            "path, liquid and delays of the site file, and a mean of readings{}",
            mostly(&times.budget)
        );
        made.entries
            .push(entry.expecting(times.transit_time, times.of_time(), from)?);
        let from = format!(
            "liquid of the site file, and what its path makes of the transit time{}",
            mostly(&times.check.difference)
        );
        made.entries
            .push(speed.expecting(times.check.expected, times.of_speed(), from)?);
        Ok(made)
    }

    fn zero(&self) -> Result<Step> {
        let mut made = step(
            "zero",
            "Zero at no flow",
            "Shut the valves, keep the pipe full, wait until the liquid rests and the readings have \
             settled; then take readings for the time noted. Where the line cannot be stopped, \
             interchange the sensors between three runs instead, and note the zero that follows \
             from them."
                .to_owned(),
        );
        made.questions = vec![question(
            "no_flow",
            "no flow for certain (valves shut and tight), or found by interchanged sensors?",
        )];
        let (key, words, q, channel, shown) = if self.is_indicated() {
            (
                "velocity",
                "velocity shown at no flow",
                Quantity::ZeroVelocity,
                Channel::Velocity,
                unit("mm/s", Dimension::Velocity),
            )
        } else {
            (
                "time_difference",
                "time difference at no flow",
                Quantity::ZeroTimeDifference,
                Channel::TimeDifference,
                unit("ns", Dimension::Time),
            )
        };
        let entry = self.entry(key, words, q, shown);
        made.entries.push(match self.rest.estimate_of(q) {
            // nothing is stated that a reading could contradict
            None => entry,
            Some(stated) => {
                let parts: Parts = self
                    .terms(q)
                    .map(|input| (input.standard_uncertainty(), input.dof()))
                    .collect();
                let mean = Repeatability::default().input(channel, 0.0, self.site)?;
                let reading = vec![(mean.standard_uncertainty(), mean.dof())];
                let from = format!("{} as stated, and a mean of readings", q.path());
                entry.expecting(stated, Expectation::of(parts, reading), from)?
            }
        });
        made.look_at = "flow through a valve that leaks, convection in a warm pipe, readings that have \
                        not settled, a cut-off or an offset set in the meter; a zero that is steady \
                        goes into the site file";
        Ok(made)
    }

    fn direction(&self) -> Result<Step> {
        let mut made = step(
            "direction",
            "Flow and its sign",
            "Open the valves. With sensor A upstream the flow reads positive; interchange the cables at \
             the meter, and it reads about as much with the other sign; put them back."
                .to_owned(),
        );
        made.questions = vec![
            question("positive", "positive with the flow from A to B?"),
            question("turns", "the other sign with interchanged cables?"),
        ];
        let planned = self.flow.as_ref().map(Expected::planned);
        for reading in planned.unwrap_or_default() {
            let (key, words, shown) = match reading.channel {
                Channel::TimeDifference => (
                    "time_difference",
                    "time difference",
                    unit("ns", Dimension::Time),
                ),
                Channel::Velocity => (
                    "velocity",
                    "velocity shown",
                    unit("m/s", Dimension::Velocity),
                ),
                Channel::VolumeFlow => (
                    "volume_flow",
                    "volume flow shown",
                    self.site.flow_unit.clone(),
                ),
                _ => continue,
            };
            let flow = self.request.flow.unwrap_or(f64::NAN);
            let from = format!(
                "at the flow foreseen, {}; no limits, since the flow of the day is not known",
                self.site
                    .flow_unit
                    .after(&in_four_digits(self.site.flow_unit.from_si(flow)))
            );
            let entry = self.entry(key, words, reading.channel.quantity(), shown);
            made.entries
                .push(entry.expecting(reading.mean, Expectation::default(), from)?);
        }
        made.look_at = "A and B: cables at the meter, sensors on the pipe, arrow of the flow; a sign \
                        set in the meter";
        Ok(made)
    }

    fn placement(&self) -> Result<Step> {
        let mut made = step(
            "placement",
            "Repeat placement",
            "With the flow steady, note the flow; take the sensors off, clean, put them on anew with \
             fresh couplant, and note the flow again. Zero, transit time and sound speed belong to the \
             last placement: look at them again."
                .to_owned(),
        );
        let entry = self.entry(
            "ratio",
            "flow after over flow before",
            Quantity::RemountingFactor,
            Unit::named("1"),
        );
        let (at, with) = match &self.flow {
            Some(expected) => (
                expected.evaluation(),
                ", and the scatter of two means of readings; the flow must be steady",
            ),
            None => (&self.rest, "; the flow must be steady, and readings exact"),
        };
        let expectation = of_placements(at);
        let nothing = expectation.known.iter().all(|(u, _)| *u == 0.0);
        let from = if nothing {
            "the site file states nothing of what a placement renews: no limits".to_owned()
        } else {
            format!("what each placement renews by the site file, for two placements{with}")
        };
        made.entries.push(entry.expecting(1.0, expectation, from)?);
        made.look_at = "couplant, marks and the sensors' seat, and whether the flow was steady; what \
                        placements change belongs into installation.remounting";
        Ok(made)
    }

    fn left_behind(&self) -> Step {
        step(
            "left_behind",
            "What is left behind",
            "Cables fastened and clear of heat and traffic, sensors and seals tight, insulation put \
             back, settings and log saved, this list signed and kept with the site file."
                .to_owned(),
        )
    }
}

fn step(key: &'static str, title: &'static str, words: String) -> Step {
    Step {
        key,
        title,
        words,
        common_practice: true,
        entries: Vec::new(),
        questions: Vec::new(),
        look_at: "",
    }
}

fn question(key: &'static str, words: &'static str) -> Question {
    Question { key, words }
}
