//! From the flow points to one answer.

use super::file::Rule;
use super::judgement::{Conformity, Verdict};
use super::question::Question;
use super::result::{Decision, PointResult};

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
    let (rejected, open) = (
        with(Verdict::DoesNotConform),
        with(Verdict::CannotBeDecided),
    );
    let risks = judged.iter().map(|(_, c)| c.specific_risks.consumers_risk);
    let risk = risks.sum::<f64>().min(1.0);
    let rule = match first.rule {
        Rule::SimpleAcceptance => first.rule.in_words().to_owned(),
        _ => format!(
            "{} at {} %",
            first.rule.in_words(),
            100.0 * first.probability
        ),
    };
    let undecided = (!open.is_empty()).then(|| {
        let each = open.iter().filter_map(|(name, conformity)| {
            Some(format!("{name} ({})", conformity.needed_in_words()?))
        });
        let each = each.collect::<Vec<_>>().join(", ");
        format!("conformity cannot be decided with this reference at {each}")
    });
    let (verdict, words) = match (rejected.is_empty(), undecided) {
        (false, undecided) => {
            let not = format!(
                "the meter does not conform at {} by {rule}",
                names(&rejected).join(", ")
            );
            let words = [Some(not), undecided].into_iter().flatten();
            (
                Verdict::DoesNotConform,
                words.collect::<Vec<_>>().join("; "),
            )
        }
        (true, Some(undecided)) => (Verdict::CannotBeDecided, undecided),
        (true, None) => {
            let words = format!(
                "the meter conforms at {} of {} flow points by {rule}; the probability that it \
                 does not is at most {:.2} %",
                judged.len(),
                judged.len(),
                100.0 * risk
            );
            (Verdict::Conforms, words)
        }
    };
    Some(Decision {
        verdict,
        not_accepted: names(&rejected),
        undecided: names(&open),
        largest_consumers_risk: Some(risk),
        words,
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
    let (verdict, words) = if not_accepted.is_empty() {
        let words = format!(
            "meter and reference agree at {} of {} flow points; the largest |E_n| is {largest:.2}",
            scored.len(),
            points.len()
        );
        (Verdict::Agrees, words)
    } else {
        let words = format!(
            "meter and reference do not agree at {}; the largest |E_n| is {largest:.2}",
            not_accepted.join(", ")
        );
        (Verdict::DoesNotAgree, words)
    };
    Some(Decision {
        verdict,
        not_accepted,
        undecided: Vec::new(),
        largest_consumers_risk: None,
        words,
    })
}
