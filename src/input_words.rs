//! What the inputs of a budget are, in words that stand beside their paths.
//!
//! The name of an input is a path, such as `pipe.wall.instrument`: a quantity, and the term of it.
//! Both have words, and each words a key, by which a language other than English replaces them.

use crate::model::Quantity;
use crate::uncertainty::{Input, Origin};
use crate::verify::ReferenceQuantity;
use std::fmt;

/// Words of an input, one part of them: a quantity, a term, or the run to which both belong.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Phrase {
    /// The key of the words: the path of a quantity, or `term.` and `of.` with a name.
    pub key: &'static str,
    /// The words in English; `{}` stands for the number.
    pub words: &'static str,
    /// The number of the layer, point or run, or the name of a placement; empty where there is none.
    pub number: String,
}

/// Words of terms, and of what else is no quantity of a site or a reference.
const OTHERS: [(&str, &str); 20] = [
    ("series.counting", "counts at the ends of a stretch"),
    ("series.low_flow_cut_off", "flow below the low-flow cut-off"),
    ("point.repeatability", "repeatability of the runs"),
    (
        "placements.reproducibility",
        "reproducibility of placements",
    ),
    ("term.readings", "mean of readings"),
    ("term.instrument", "instrument"),
    ("term.common", "common to all points"),
    ("term.drift", "drift since the calibration"),
    ("term.point", "point {}"),
    ("term.cross_flow", "cross flow"),
    ("term.straight_run", "straight run"),
    ("term.orientation", "orientation of the path"),
    ("term.counting", "counts at begin and end"),
    ("term.planned", "change to the planned value"),
    ("of.run", "run {}"),
    ("of.placement", "placement {}"),
    ("of.placements", "placements {}"),
    ("of.point", "flow point {}"),
    ("of.first", "first flow"),
    ("of.second", "second flow"),
];

/// Words of the layers, which have no place in [`Quantity::ALL`].
const LAYERS: [Quantity; 2] = [Quantity::LayerThickness(0), Quantity::LayerSoundSpeed(0)];

/// Every key of words with its words in English.
pub fn words_by_key() -> Vec<(&'static str, &'static str)> {
    let quantities = Quantity::ALL.iter().chain(&LAYERS);
    let of_sites = quantities.map(|q| (q.key_of_words(), q.label()));
    let of_references = ReferenceQuantity::ALL.iter();
    let of_references = of_references.map(|q| (q.path(), q.label()));
    of_sites.chain(of_references).chain(OTHERS).collect()
}

impl Phrase {
    fn of(key: &str, number: &str) -> Option<Phrase> {
        let (key, words) = OTHERS.into_iter().find(|(other, _)| *other == key)?;
        let number = number.to_owned();
        // a point or run without its number, or a number where there is none, is another input
        let complete = words.contains("{}") != number.is_empty();
        complete.then_some(Phrase { key, words, number })
    }

    fn plain(key: &'static str, words: &'static str) -> Phrase {
        let number = String::new();
        Phrase { key, words, number }
    }
}

impl fmt::Display for Phrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.words.replace("{}", &self.number))
    }
}

/// A part of a path with its number: `point[2]`.
fn numbered(part: &str) -> (&str, &str) {
    let within = part.strip_suffix(']').and_then(|part| part.split_once('['));
    within.unwrap_or((part, ""))
}

/// The run, placement, flow point or side of a difference to which an input belongs, and the rest of its name. Names of
/// placements and points are the user's own.
fn place_and_rest(name: &str) -> (Option<Phrase>, &str) {
    for side in ["first", "second"] {
        let rest = name
            .strip_prefix(side)
            .and_then(|rest| rest.strip_prefix('.'));
        if let Some(rest) = rest {
            return (Phrase::of(&format!("of.{side}"), ""), rest);
        }
    }
    let place = name.split_once("].").and_then(|(place, rest)| {
        let (kind, number) = place.split_once('[')?;
        let phrase = Phrase::of(&format!("of.{kind}"), number)?;
        Some((phrase, rest))
    });
    match place {
        Some((phrase, rest)) => (Some(phrase), rest),
        None => (None, name),
    }
}

/// The quantity with which a path begins, and the terms that follow.
fn quantity_and_terms(path: &str, of_reference: bool) -> Option<(Phrase, &str)> {
    let after = |whole: &str| {
        let rest = path.strip_prefix(whole)?;
        (rest.is_empty() || rest.starts_with('.')).then_some(&path[whole.len()..])
    };
    let of_site = Quantity::ALL.iter().find_map(|q| {
        let phrase = Phrase::plain(q.key_of_words(), q.label());
        Some((phrase, after(&q.path())?))
    });
    let of_layer = || {
        let (number, rest) = path.strip_prefix("pipe.layer[")?.split_once("].")?;
        LAYERS.iter().find_map(|q| {
            let (_, key) = q.key_of_words().rsplit_once('.')?;
            let terms = rest.strip_prefix(key)?;
            let mut phrase = Phrase::plain(q.key_of_words(), q.label());
            phrase.number = number.to_owned();
            (terms.is_empty() || terms.starts_with('.')).then_some((phrase, terms))
        })
    };
    let of_the_reference = || {
        ReferenceQuantity::ALL.iter().find_map(|q| {
            let whole = if of_reference { q.key() } else { q.path() };
            Some((Phrase::plain(q.path(), q.label()), after(whole)?))
        })
    };
    let of_another = || {
        let found = OTHERS.into_iter().find(|(key, _)| *key == path);
        Some((found.map(|(key, words)| Phrase::plain(key, words))?, ""))
    };
    of_site
        .or_else(of_layer)
        .or_else(of_the_reference)
        .or_else(of_another)
}

/// What an input is: its quantity, its terms, and the run or placement to which it belongs. Nothing for
/// the input of a model of the user's own.
pub fn phrases(input: &Input) -> Vec<Phrase> {
    let read = matches!(input.origin(), Origin::Readings { .. });
    parsed(input.name(), read).unwrap_or_default()
}

/// As [`phrases`], of a name alone, which does not tell the mean of readings from a stated value.
pub fn phrases_of_name(name: &str) -> Vec<Phrase> {
    parsed(name, false).unwrap_or_default()
}

fn parsed(name: &str, read: bool) -> Option<Vec<Phrase>> {
    let (place, rest) = place_and_rest(name);
    let scatter = |(key, suffix): (&'static str, &str)| {
        let own = place.as_ref()?.key == key && rest == suffix;
        own.then(|| Phrase::of(&format!("{}.{suffix}", &key[3..]), ""))?
    };
    let of_scatter = [
        ("of.point", "repeatability"),
        ("of.placements", "reproducibility"),
    ];
    let found = of_scatter.into_iter().find_map(scatter);
    let (quantity, terms) = match found {
        Some(phrase) => (phrase, ""),
        None => quantity_and_terms(rest, place.is_some())?,
    };
    let mut phrases = vec![quantity];
    if read && !terms.ends_with(".instrument") {
        phrases.extend(Phrase::of("term.readings", ""));
    }
    for term in terms.split('.').skip(1) {
        let (kind, number) = numbered(term);
        phrases.push(Phrase::of(&format!("term.{kind}"), number)?);
    }
    phrases.extend(place);
    Some(phrases)
}

/// What an input is, in words: `wall thickness, instrument`. The name of an input of a model of the
/// user's own is what it is.
///
/// # Example
/// ```
/// use flowdoubt::input_words::in_words;
/// use flowdoubt::uncertainty::Input;
/// let gauge = Input::with_standard_uncertainty("pipe.wall.instrument", 0.0, 5e-5, f64::INFINITY)?;
/// assert_eq!(in_words(&gauge), "wall thickness, instrument");
/// let read = Input::from_readings("pipe.layer[2].thickness", &[2.0e-3, 2.1e-3, 1.9e-3])?;
/// assert_eq!(in_words(&read), "thickness of layer 2, mean of readings");
/// assert_eq!(in_words(&gauge.named("gain")), "gain");
/// # Ok::<(), flowdoubt::Error>(())
/// ```
pub fn in_words(input: &Input) -> String {
    let phrases = phrases(input);
    if phrases.is_empty() {
        return input.name().to_owned();
    }
    let words: Vec<String> = phrases.iter().map(Phrase::to_string).collect();
    words.join(", ")
}
