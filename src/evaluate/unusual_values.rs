//! Warnings of values that are unusual in the trade.

use super::{Evaluation, Warning};
use crate::error::with_unit;
use crate::message::{Told, message};
use crate::model::Quantity;

impl Evaluation {
    /// Quantities whose estimates lie outside what is usual, as a wrong unit or a slip of the
    /// decimal point leaves them.
    pub(super) fn unusual(&self) -> Vec<Warning> {
        let terms = self.model.terms();
        let first = |(i, q): (usize, &Quantity)| (!terms[..i].contains(q)).then_some((i, *q));
        let stated = terms.iter().enumerate().filter_map(first);
        stated.filter_map(|(i, q)| self.unusual_of(q, i)).collect()
    }

    fn unusual_of(&self, q: Quantity, input: usize) -> Option<Warning> {
        let [low, high] = q.row().usual?;
        let value = self.estimate_of(q)?;
        let unit = self.inputs.inputs()[input].unit();
        let symbol = match unit.symbol.as_ref() {
            "1" => "",
            symbol => symbol,
        };
        let shown = |si: f64| with_unit(unit.from_si(si), symbol);
        (!(low..=high).contains(&value)).then(|| {
            Warning::told(
                "unusual-value",
                message!(
                    "warnings.unusual-value",
                    "{input} is {value}, outside what is usual, {low} to {high} (common practice): \
                     check the value and its unit",
                    input = Told::Input(q.path().into_owned()),
                    value = shown(value),
                    low = shown(low),
                    high = shown(high),
                ),
            )
        })
    }
}
