//! From the flow points to one answer.

use super::file::Rule;
use super::judgement::{Conformity, Verdict};
use super::question::Question;
use super::result::{Decision, PointResult};
use crate::message::{Told, message};

/// The decision over all points; `None` where no point has one.
pub(super) fn decision(question: Question, points: &[PointResult]) -> Option<Decision> {
    if question == Question::Agreement {
        return agreement(points);
    }
    let judged: Vec<(&str, &Conformity)> = points
        .iter()
        .filter_map(|point| Some((point.point.as_str(), point.conformity.as_ref()?)))
        .collect();
    let (_, first) = judged.first()?;
    let with = |verdict: Verdict| -> Vec<&(&str, &Conformity)> {
        judged
            .iter()
            .filter(|(_, c)| c.verdict == verdict)
            .collect()
    };
    let names = |found: &[&(&str, &Conformity)]| -> Vec<String> {
        found.iter().map(|(name, _)| (*name).to_owned()).collect()
    };
    let points_named = |found: &[&(&str, &Conformity)]| Told::Theirs(names(found).join(", "));
    let (rejected, open) = (
        with(Verdict::DoesNotConform),
        with(Verdict::CannotBeDecided),
    );
    let risks = judged.iter().map(|(_, c)| c.specific_risks.consumers_risk);
    let risk = risks.sum::<f64>().min(1.0);
    let rule = match first.rule {
        Rule::SimpleAcceptance => first.rule.in_words().into(),
        _ => Told::from(message!(
            "decision.guarded",
            "{rule} at {probability}",
            rule = first.rule.in_words(),
            probability = format!("{} %", 100.0 * first.probability)
        )),
    };
    let undecided = (!open.is_empty()).then(|| {
        let each = open.iter().filter_map(|(name, conformity)| {
            Some(Told::from(message!(
                "decision.undecided_point",
                "{point} ({needed})",
                point = Told::Theirs((*name).to_owned()),
                needed = conformity.needed_told()?
            )))
        });
        message!(
            "decision.undecided",
            "conformity cannot be decided with this reference at {points}",
            points = Told::Joined(each.collect(), ", ")
        )
    });
    let (verdict, message) = match (rejected.is_empty(), undecided) {
        (false, undecided) => {
            let not = message!(
                "decision.does_not_conform",
                "the meter does not conform at {points} by {rule}",
                points = points_named(&rejected),
                rule = rule
            );
            let message = match undecided {
                None => not,
                Some(undecided) => message!(
                    "decision.does_not_conform_and_undecided",
                    "{not}; {undecided}",
                    not = not,
                    undecided = undecided
                ),
            };
            (Verdict::DoesNotConform, message)
        }
        (true, Some(undecided)) => (Verdict::CannotBeDecided, undecided),
        (true, None) => {
            let message = message!(
                "decision.conforms",
                "the meter conforms at {points} of {points} flow points by {rule}; the probability \
                 that it does not is at most {risk}",
                points = judged.len().to_string(),
                rule = rule,
                risk = format!("{:.2} %", 100.0 * risk)
            );
            (Verdict::Conforms, message)
        }
    };
    Some(Decision {
        verdict,
        not_accepted: names(&rejected),
        undecided: names(&open),
        largest_consumers_risk: Some(risk),
        words: message.words(),
        sentence: message.into(),
    })
}

/// Whether both results agree at all points: `|E_n|` is 1 at most.
fn agreement(points: &[PointResult]) -> Option<Decision> {
    let scored: Vec<(&PointResult, f64)> = points
        .iter()
        .filter_map(|point| Some((point, point.scores?.e_n?.abs())))
        .collect();
    let largest = scored.iter().map(|(_, e_n)| *e_n).reduce(f64::max)?;
    let apart = scored
        .iter()
        .filter(|(point, _)| point.verdict() == Some(Verdict::DoesNotAgree));
    let not_accepted: Vec<String> = apart.map(|(point, _)| point.point.clone()).collect();
    let (verdict, message) = if not_accepted.is_empty() {
        let message = message!(
            "decision.agrees",
            "meter and reference agree at {scored} of {points} flow points; the largest |E_n| is \
             {largest}",
            scored = scored.len().to_string(),
            points = points.len().to_string(),
            largest = format!("{largest:.2}")
        );
        (Verdict::Agrees, message)
    } else {
        let message = message!(
            "decision.does_not_agree",
            "meter and reference do not agree at {points}; the largest |E_n| is {largest}",
            points = Told::Theirs(not_accepted.join(", ")),
            largest = format!("{largest:.2}")
        );
        (Verdict::DoesNotAgree, message)
    };
    Some(Decision {
        verdict,
        not_accepted,
        undecided: Vec::new(),
        largest_consumers_risk: None,
        words: message.words(),
        sentence: message.into(),
    })
}
