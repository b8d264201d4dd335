//! From the standard uncertainties of the inputs to the expanded uncertainty of the flow.

use super::Lines;
use crate::derivation::Step;
use crate::error::Result;
use crate::evaluate::Evaluation;
use crate::uncertainty::rounded_pair;

/// Adds contributions, combined standard uncertainty and effective degrees of freedom.
pub(super) fn add_uncertainty(
    evaluation: &Evaluation,
    symbols: &[String],
    lines: &mut Lines,
) -> Result<()> {
    let budget = &evaluation.budget;
    for (line, x) in budget.lines.iter().zip(symbols) {
        let unit = match line.input.unit().si_symbol.as_ref() {
            "" | "1" => "m3/s".to_owned(),
            unit => format!("(m3/s)/({unit})"),
        };
        let words = format!("sensitivity coefficient, the slope of Q along {x}");
        let step = Step::new(format!("c({x})"), words, "", line.sensitivity, unit);
        lines.add(
            step.found("exact derivative of the equations above, by dual numbers")
                .from("JCGM 100:2008, 5.1.3"),
        );
        let words = format!("contribution of {x}");
        let equation = format!("c({x})*u({x})");
        let step = Step::new(
            format!("uQ({x})"),
            words,
            equation,
            line.contribution,
            "m3/s",
        );
        lines.add(step.from("JCGM 100:2008, 5.1.3"));
    }

    let squares: Vec<String> = symbols.iter().map(|x| format!("uQ({x})^2")).collect();
    let correlations = evaluation.inputs.correlations();
    let pairs = (0..symbols.len()).flat_map(|j| (0..j).map(move |i| (i, j)));
    let products: String = pairs
        .filter(|(i, j)| correlations.coefficient(*i, *j) != 0.0)
        .map(|(i, j)| {
            let r = correlations.coefficient(i, j);
            format!(" + 2*({r})*uQ({})*uQ({})", symbols[i], symbols[j])
        })
        .collect();
    let words = "combined standard uncertainty of the flow";
    let equation = format!("sqrt({}{products})", squares.join(" + "));
    let u = budget.standard_uncertainty;
    lines.add(Step::new("u(Q)", words, equation, u, "m3/s").from("JCGM 100:2008, 5.1.2 and 5.2.2"));

    let words = "effective degrees of freedom";
    let source = "Welch and Satterthwaite, JCGM 100:2008, G.4.1";
    let with_dof = budget.lines.iter().zip(symbols);
    let fourth: Vec<String> = with_dof
        .filter(|(line, _)| line.input.dof().is_finite())
        .map(|(_, x)| format!("uQ({x})^4/dof({x})"))
        .collect();
    if budget.effective_dof.is_finite() {
        let equation = format!("u(Q)^4/({})", fourth.join(" + "));
        lines.add(Step::new("dof(Q)", words, equation, budget.effective_dof, "1").from(source));
    }
    Ok(())
}

/// Adds the expanded uncertainty and the result in the unit in which it is shown.
pub(super) fn add_result(evaluation: &Evaluation, lines: &mut Lines) -> Result<()> {
    let (budget, expanded) = (&evaluation.budget, evaluation.expanded()?);
    let p = expanded.coverage_probability;
    let step = if expanded.dof.is_finite() {
        let words = "effective degrees of freedom, truncated to whole ones";
        lines.add(
            Step::new("n_Q", words, "floor(dof(Q))", expanded.dof, "1")
                .from("JCGM 100:2008, G.4.1"),
        );
        Step::new(
            "k_P",
            "",
            "student_t(P, n_Q)",
            expanded.coverage_factor,
            "1",
        )
    } else {
        Step::new("k_P", "", "normal(P)", expanded.coverage_factor, "1")
    };
    lines.add(Step::new("P", "coverage probability", "", p, "1").found("as stated"));
    lines.add(Step {
        words: "coverage factor: within k_P lies the share P of the distribution".into(),
        ..step.from("JCGM 100:2008, G.3 and G.6.4")
    });
    let u = expanded.expanded_uncertainty;
    let words = "expanded uncertainty";
    lines.add(Step::new("U", words, "k_P*u(Q)", u, "m3/s").from("JCGM 100:2008, 6.2.1"));

    let unit = &budget.output.unit;
    let (flow, wide) = (unit.from_si(budget.estimate), unit.difference_from_si(u));
    let (rounded, rounded_u) = rounded_pair(flow, wide);
    let step = |symbol: &'static str, of: &str, value: f64, words: String| {
        let equation = format!("{of}/{:e}", unit.factor);
        Step::new(symbol, words, equation, value, unit.symbol.clone()).from("JCGM 100:2008, 7.2.6")
    };
    let symbol = &unit.symbol;
    let words = format!("volume flow in {symbol}; rounded {rounded} {symbol}");
    lines.add(step("Q_shown", "Q", flow, words));
    let words = format!("expanded uncertainty in {symbol}; rounded {rounded_u} {symbol}");
    lines.add(step("U_shown", "U", wide, words));
    Ok(())
}
