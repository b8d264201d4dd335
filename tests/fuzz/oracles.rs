//! What every answer must be, beyond that there is one.

use flowdoubt::Error;
use flowdoubt::evaluate::Evaluation;
use flowdoubt::record::Record;

/// A promise that was broken, in words.
pub type Judgement = Result<(), String>;

/// The longest sentence that says why something was refused.
const LONGEST: usize = 2000;

/// An error has a code and says in a line that a terminal can show what was wrong.
pub fn refusal(error: &Error) -> Judgement {
    let words = error.to_string();
    shown(&words)?;
    if words.contains('\n') {
        return Err(format!("an error of several lines: {words}"));
    }
    if words.trim().is_empty() || error.code().is_empty() {
        return Err("an error that says nothing".to_owned());
    }
    if words.chars().count() > LONGEST {
        return Err(format!("an error of {} characters", words.chars().count()));
    }
    Ok(())
}

/// Text for people: no control characters, no numbers that are none.
pub fn shown(text: &str) -> Judgement {
    let hostile = |c: char| c != '\n' && (c.is_control() || "\u{200b}\u{202e}\u{feff}".contains(c));
    match text.chars().find(|c| hostile(*c)) {
        Some(found) => Err(format!("{found:?} would be sent to a terminal: {text:?}")),
        None => Ok(()),
    }
}

/// As [`shown`], where the words are of this software and not of the input: every number is finite.
pub fn finite_words(text: &str, input: &str) -> Judgement {
    let named = |word: &str| matches!(word, "NaN" | "inf" | "-inf");
    let mut words = text.split(|c: char| !(c.is_alphanumeric() || c == '-'));
    let found = words.find(|word| named(word));
    match found {
        Some(word) if !input.to_lowercase().contains(&word.to_lowercase()) => {
            Err(format!("{word} is printed: {text}"))
        }
        _ => Ok(()),
    }
}

pub fn finite(what: &str, numbers: &[f64]) -> Judgement {
    match numbers.iter().find(|x| !x.is_finite()) {
        Some(x) => Err(format!("{what} is {x}")),
        None => Ok(()),
    }
}

/// An evaluation has finite results and prints them.
pub fn evaluation(found: &Evaluation, input: &str) -> Judgement {
    finite(
        "flow or uncertainty",
        &[found.estimate(), found.standard_uncertainty()],
    )?;
    for line in &found.budget.lines {
        finite(line.input.name(), &[line.sensitivity, line.contribution])?;
    }
    let words = found
        .in_words()
        .map_err(|error| format!("it does not print: {error}"))?;
    shown(&words)?;
    finite_words(&words, input)?;
    found
        .to_json(None)
        .map_err(|error| format!("it has no JSON: {error}"))?;
    Ok(())
}

/// A record comes back from its text as it was, and reproduces.
pub fn record(record: &Record) -> Judgement {
    let text = record.to_text();
    let read = Record::from_text(&text).map_err(|error| format!("a record is refused: {error}"))?;
    if read != *record || read.to_text() != text {
        return Err("a record comes back changed".to_owned());
    }
    let reproduction = read
        .reproduce()
        .map_err(|error| format!("not recomputed: {error}"))?;
    if !reproduction.agrees() {
        return Err(format!("not reproduced: {}", reproduction.in_words()));
    }
    Ok(())
}
