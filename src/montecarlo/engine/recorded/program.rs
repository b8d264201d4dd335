//! Noted operations made ready for blocks of numbers.

use super::Recorded;
use super::instructions::{Argument, Joined, Operation, Program, Step};
use super::kernels::Slots;
use super::recording::{Binary, Node, Rare, Recording, record};
use crate::scalar::InstructionSet;

impl Program {
    /// Records `model` at `inputs` inputs; it returns the outputs.
    ///
    /// `None` where the model returns `None`, or asks for the value of a number and so may do
    /// different things for different numbers.
    pub fn record<O: AsRef<[Recorded]>>(
        inputs: usize,
        model: impl FnOnce(&[Recorded]) -> Option<O>,
    ) -> Option<Program> {
        Program::record_with(false, inputs, model)
    }

    /// As [`Program::record`], with zero times any number taken as zero, and zero added to any as
    /// nothing: most derivatives are zero, and what would be done with them falls away.
    ///
    /// Where all numbers on the way are finite the outputs have the same bits, but for the sign of
    /// a zero. Where one is not, an output that zero times it would have made NaN may be finite.
    pub fn record_finite<O: AsRef<[Recorded]>>(
        inputs: usize,
        model: impl FnOnce(&[Recorded]) -> Option<O>,
    ) -> Option<Program> {
        Program::record_with(true, inputs, model)
    }

    fn record_with<O: AsRef<[Recorded]>>(
        finite: bool,
        inputs: usize,
        model: impl FnOnce(&[Recorded]) -> Option<O>,
    ) -> Option<Program> {
        let (outputs, recording) = record(finite, None, || {
            let x: Vec<Recorded> = (0..inputs).map(Recorded::input).collect();
            model(&x)
        });
        let outputs = recording.places(outputs?.as_ref())?;
        Some(Program::of(&recording, &outputs))
    }

    /// The program of what has been recorded, with the results at these places as outputs.
    pub(super) fn of(recording: &Recording, outputs: &[u32]) -> Program {
        Compiler::new(recording, outputs).program(outputs)
    }

    /// Number of outputs.
    pub fn outputs(&self) -> usize {
        self.outputs.len()
    }

    /// Number of operations on blocks.
    #[cfg(test)]
    pub fn operations(&self) -> usize {
        self.steps.len()
    }

    /// The outputs at inputs of shape `(size,)` each, one column of that shape for each.
    ///
    /// # Panics
    /// If an input that the model uses is missing or shorter than `size`.
    pub fn evaluate(&self, set: InstructionSet, x: &[&[f64]], size: usize) -> Vec<Vec<f64>> {
        self.evaluate_where(set, x, size).0
    }

    /// As [`Program::evaluate`], and the places where the outputs do not hold.
    pub(super) fn evaluate_where(
        &self,
        set: InstructionSet,
        x: &[&[f64]],
        size: usize,
    ) -> (Vec<Vec<f64>>, Vec<usize>) {
        let fresh = self.outputs.iter().map(|_| Vec::with_capacity(size));
        let mut results = (fresh.collect(), Vec::new());
        let mut slots = Slots::take(self.slots);
        set.run(
            #[inline(always)]
            || slots.evaluate(set, self, x, size, &mut results),
        );
        slots.give_back();
        results
    }

    /// With the last output as the condition on which the others hold.
    pub(super) fn with_condition(mut self) -> Program {
        self.condition = self.outputs.pop();
        self
    }
}

/// Turns a recording into a program.
struct Compiler<'a> {
    recording: &'a Recording,
    nodes: &'a [Node],
    /// How often the result of each node is used by operations that are needed.
    uses: Vec<u32>,
}

impl Compiler<'_> {
    fn new<'a>(recording: &'a Recording, outputs: &[u32]) -> Compiler<'a> {
        let nodes = &recording.nodes;
        let mut uses = vec![0; nodes.len()];
        for output in outputs {
            uses[*output as usize] += 1;
        }
        let mut rare: Vec<&Rare> = recording.rare.iter().collect();
        rare.sort_by_key(|rare| rare.places.start);
        for (i, node) in nodes.iter().enumerate().rev() {
            if uses[i] > 0 {
                arguments(node).for_each(|a| uses[a as usize] += 1);
            }
            // a condition is needed where something is that depends on it; it comes before that
            while let Some(last) = rare.pop_if(|rare| rare.places.start as usize == i) {
                let places = last.places.start as usize..last.places.end as usize;
                if uses[places].iter().any(|uses| *uses > 0) {
                    uses[last.condition as usize] += 1;
                }
            }
        }
        Compiler {
            recording,
            nodes,
            uses,
        }
    }

    /// The factors of a product that nothing else needs.
    fn lone_product(&self, place: u32) -> Option<(u32, u32)> {
        match self.nodes[place as usize] {
            Node::Binary(Binary::Mul, a, b) if self.uses[place as usize] == 1 => Some((a, b)),
            _ => None,
        }
    }

    /// The operation of a node, joined with those of its arguments that nothing else needs. Sums
    /// and products have the same bits in either order of their arguments.
    fn operation(&self, node: Node) -> Option<Operation<u32>> {
        Some(match node {
            Node::Input(_) | Node::Constant(_) => return None,
            Node::Unary(u, a) => Operation::Unary(u, a),
            Node::Select(a, b, c) => Operation::Select(a, b, c),
            Node::Series(series, a) => Operation::Series(series, a),
            Node::Surface(series, a, b) => Operation::Surface(series, a, b),
            Node::Fit(fit, a) => Operation::Fit(fit, a),
            Node::BivariateFit(fit, a, b) => Operation::BivariateFit(fit, a, b),
            Node::Inside(fit, c, a) => Operation::Inside(fit, c, a),
            Node::BivariateInside(fit, c, a, b) => Operation::BivariateInside(fit, c, a, b),
            Node::Binary(o, a, b) => self.joined(o, a, b),
        })
    }

    /// A function of two numbers, one of which may be a product that nothing else needs.
    fn joined(&self, function: Binary, a: u32, b: u32) -> Operation<u32> {
        let (with_first, with_second) = match function {
            Binary::Add => (Joined::Plus, Joined::Plus),
            Binary::Sub => (Joined::Minus, Joined::From),
            Binary::Mul => (Joined::Times, Joined::Times),
            Binary::Div => (Joined::Over, Joined::Under),
            _ => return Operation::Binary(function, a, b),
        };
        if let Some((x, y)) = self.lone_product(b) {
            Operation::Joined(with_second, x, y, a)
        } else if let Some((x, y)) = self.lone_product(a) {
            Operation::Joined(with_first, x, y, b)
        } else {
            Operation::Binary(function, a, b)
        }
    }

    fn program(&self, outputs: &[u32]) -> Program {
        // from the end, so that what was joined into a later operation is known not to be needed
        let mut needed = vec![false; self.nodes.len()];
        outputs.iter().for_each(|y| needed[*y as usize] = true);
        let conditions = self
            .recording
            .rare
            .iter()
            .map(|rare| rare.condition as usize);
        let used = conditions.filter(|c| self.uses[*c] > 0);
        used.for_each(|c| needed[c] = true);
        let mut operations = Vec::new();
        for (i, node) in self.nodes.iter().enumerate().rev() {
            let Some(operation) = needed[i].then(|| self.operation(*node)).flatten() else {
                continue;
            };
            operation.map(|a| needed[a as usize] = true);
            operations.push((i, operation));
        }
        operations.reverse();

        let skips = self.skips(&operations);
        let mut last_use = vec![0; self.nodes.len()];
        for (at, (_, operation)) in operations.iter().enumerate() {
            skips[at].iter().for_each(|s| last_use[s.0 as usize] = at);
            operation.map(|a| last_use[a as usize] = at);
        }
        outputs
            .iter()
            .for_each(|y| last_use[*y as usize] = usize::MAX);

        let mut slots = Allocation::default();
        let mut slot_of = vec![None; self.nodes.len()];
        let mut input_of = vec![None; self.nodes.len()];
        let mut inputs = Vec::new();
        for (i, node) in self.nodes.iter().enumerate() {
            if let (Node::Input(index), true) = (node, needed[i]) {
                input_of[i] = Some(inputs.len() as u32);
                inputs.push(*index);
            }
        }
        let argument = |slot_of: &[Option<u32>], a: u32| {
            let place = a as usize;
            match (self.nodes[place], slot_of[place], input_of[place]) {
                (_, Some(slot), _) => Argument::Slot(slot),
                (_, _, Some(input)) => Argument::Input(input),
                (Node::Constant(bits), ..) => Argument::Constant(f64::from_bits(bits)),
                _ => Argument::Constant(f64::NAN), // not reached: arguments come before their use
            }
        };
        let mut steps = Vec::with_capacity(operations.len());
        for (at, (i, operation)) in operations.into_iter().enumerate() {
            for &(condition, operations, nested) in &skips[at] {
                steps.push(Step::SkipWhereAll {
                    condition: argument(&slot_of, condition),
                    steps: operations + nested,
                });
            }
            // the result's slot is taken first: it is never that of an argument
            let out = slots.take();
            let placed = operation.map(|a| argument(&slot_of, a));
            let mut release = |a: u32| {
                if last_use[a as usize] == at
                    && let Some(slot) = slot_of[a as usize].take()
                {
                    slots.give_back(slot);
                }
            };
            skips[at].iter().for_each(|s| release(s.0));
            operation.map(release);
            slot_of[i] = Some(out);
            steps.push(Step::Apply {
                operation: placed,
                out,
            });
        }
        Program {
            steps,
            inputs,
            outputs: outputs.iter().map(|y| argument(&slot_of, *y)).collect(),
            condition: None,
            slots: slots.count as usize,
            series: self.recording.series.clone(),
            fits: self.recording.fits.clone(),
        }
    }

    /// For each operation the skips before it, the outermost first: condition, operations skipped,
    /// skips among them.
    fn skips(&self, operations: &[(usize, Operation<u32>)]) -> Vec<Vec<(u32, u32, u32)>> {
        let place = |at: u32| operations.partition_point(|(i, _)| *i < at as usize);
        let mut skips = vec![Vec::new(); operations.len()];
        // inner ones end first, so they are noted first
        for Rare { condition, places } in &self.recording.rare {
            let (start, end) = (place(places.start), place(places.end));
            if start < end {
                let inside = skips[start..end].iter().map(Vec::len).sum::<usize>();
                skips[start].insert(0, (*condition, (end - start) as u32, inside as u32));
            }
        }
        skips
    }
}

fn arguments(node: &Node) -> impl Iterator<Item = u32> {
    let all = match *node {
        Node::Input(_) | Node::Constant(_) => [None, None, None],
        Node::Unary(_, a) => [Some(a), None, None],
        Node::Binary(_, a, b) => [Some(a), Some(b), None],
        Node::Select(a, b, c) => [Some(a), Some(b), Some(c)],
        Node::Series(_, a) => [Some(a), None, None],
        Node::Surface(_, a, b) => [Some(a), Some(b), None],
        Node::Fit(_, a) => [Some(a), None, None],
        Node::BivariateFit(_, a, b) | Node::Inside(_, a, b) => [Some(a), Some(b), None],
        Node::BivariateInside(_, a, b, c) => [Some(a), Some(b), Some(c)],
    };
    all.into_iter().flatten()
}

/// Slots that are free to be used again; the last one given back is still in the cache.
#[derive(Default)]
struct Allocation {
    free: Vec<u32>,
    count: u32,
}

impl Allocation {
    fn take(&mut self) -> u32 {
        self.free.pop().unwrap_or_else(|| {
            self.count += 1;
            self.count - 1
        })
    }
    fn give_back(&mut self, slot: u32) {
        self.free.push(slot);
    }
}
