//! What a site file says, as tables for people.

use super::in_situ::IN_SITU;
use super::{InstrumentsUsed, Site};
use crate::message::{Message, Told, message};
use crate::model::{Basis, LiquidModel, PathLayout, Quantity};
use crate::uncertainty::{Input, dof_in_words, rounded_pair};

/// What a site file states of one input, rounded for people (JCGM 100:2008, 7.2.6).
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct StatedLine {
    /// The component of the budget to which it belongs.
    pub component: &'static str,
    /// The name of the input, its path in the site file.
    pub input: String,
    /// What the quantity is.
    pub words: &'static str,
    /// The estimate.
    pub estimate: String,
    /// The standard uncertainty.
    pub standard_uncertainty: String,
    /// The unit of both.
    pub unit: String,
    /// The distribution in words.
    pub distribution: &'static str,
    /// The degrees of freedom.
    pub dof: String,
    /// Where it comes from, in words.
    pub evidence: String,
}

impl Site {
    /// The choices of the site, as pairs of a heading and words.
    pub fn choices_in_words(&self) -> Vec<(&'static str, String)> {
        let told = self.choices_told().into_iter();
        told.map(|(heading, message)| (heading, message.words()))
            .collect()
    }

    /// As [`Site::choices_in_words`], to be said in any language.
    pub fn choices_told(&self) -> Vec<(&'static str, Message)> {
        let word = |word: &'static str| message!("choices.word", "{word}", word = word);
        let theirs = |text: String| message!("choices.word", "{word}", word = Told::Theirs(text));
        let choices = self.skeleton.choices();
        let liquid = match &choices.liquid {
            LiquidModel::Stated => "stated",
            LiquidModel::Computed(liquid) => liquid.name(),
        };
        let way = if choices.traverses % 2 == 1 {
            "direct"
        } else {
            "reflected"
        };
        let mut said = vec![
            ("liquid", word(liquid)),
            (
                "sound path",
                message!(
                    "choices.traverses",
                    "{way}, number of traverses {traverses}",
                    way = way,
                    traverses = choices.traverses.to_string()
                ),
            ),
            ("basis", word(choices.basis.in_words())),
        ];
        if choices.basis != Basis::Indicated {
            said.push((
                "angle of the ray from the",
                word(choices.angle_from.in_words()),
            ));
        }
        said.push(("profile law", choices.law.told()));
        said.push(("friction law", word(choices.friction.name())));
        if let Some(in_situ) = &self.in_situ {
            said.push((IN_SITU, in_situ.told()));
        }
        let used = self.instruments.iter().flat_map(InstrumentsUsed::in_words);
        said.extend(used.map(|(kind, name)| (kind, theirs(name.to_owned()))));
        said
    }

    /// The sound path as far as the file alone tells it; `None` where that takes readings, such as
    /// those of the temperature, or where it is not known.
    pub fn path_layout(&self) -> Option<PathLayout> {
        let mut stated = self.stated.to_vec();
        stated.sort_by_key(|(quantity, _)| quantity.index());
        let estimates: Vec<f64> = stated.iter().map(|(_, input)| input.estimate()).collect();
        self.model_of(&stated).layout(&estimates)
    }

    /// The inputs that the file states, in the order of a budget.
    pub fn stated_lines(&self) -> Vec<StatedLine> {
        let basis = self.skeleton.choices().basis;
        let mut stated: Vec<_> = self.stated.iter().collect();
        stated.sort_by_key(|(quantity, _)| quantity.index());
        let line = |(quantity, input): &(Quantity, Input)| {
            let unit = input.unit();
            let (estimate, standard_uncertainty) = rounded_pair(
                unit.from_si(input.estimate()),
                unit.difference_from_si(input.standard_uncertainty()),
            );
            StatedLine {
                component: quantity.component(basis).in_words(),
                input: input.name().to_owned(),
                words: quantity.in_words(),
                estimate,
                standard_uncertainty,
                unit: unit.symbol.to_string(),
                distribution: input.distribution().name(),
                dof: dof_in_words(input.dof()),
                evidence: input.evidence().to_owned(),
            }
        };
        stated.into_iter().map(line).collect()
    }
}
