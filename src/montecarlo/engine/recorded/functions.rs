//! Functions of few numbers in a recording, and the fits that take their place.

use super::fit::Fit;
use super::recording::{
    Binary, Condition, Function, Node, RECORDING, Recorded, Recording, constant, note,
};
use crate::scalar::SmoothFunction;

/// Notes a function of few numbers, with its fit before it if there is one.
pub(super) fn function_of<const N: usize>(
    arguments: [Recorded; N],
    function: &impl SmoothFunction<N>,
) -> Recorded {
    let number = RECORDING.with_borrow_mut(|r| {
        (!std::mem::replace(&mut r.inside_function, true)).then_some(r.functions.len())
    });
    let Some(number) = number else {
        return function.at(arguments); // part of another
    };
    let places: Vec<u32> = RECORDING.with_borrow(|r| {
        let all = arguments.iter().map(|a| a.0);
        all.filter(|a| r.constant(*a).is_none()).collect()
    });
    let (fit, start, conditions) = RECORDING.with_borrow_mut(|r| {
        let fits = r.usual.as_mut();
        let fit = fits.and_then(|fits| fits.get_mut(number)?.take());
        (fit, r.nodes.len() as u32, r.conditions.len())
    });
    let result = match fit {
        Some(fit) => note_fit(fit, &places),
        None => function.at(arguments),
    };
    RECORDING.with_borrow_mut(|r| {
        r.inside_function = false;
        // what holds on a condition only is no function of its arguments alone
        let whole = r.conditions.len() == conditions;
        r.functions.push(Function {
            arguments: if whole { places } else { Vec::new() },
            places: start..r.nodes.len() as u32,
            result: result.0,
        });
    });
    result
}

/// Notes the value of a fit, and on what condition it holds.
fn note_fit(fit: Fit, arguments: &[u32]) -> Recorded {
    let number = RECORDING.with_borrow_mut(|r| {
        let number = r.fits.len() as u32;
        r.fits.push(fit);
        r.conditions
            .push(Condition::Inside(number, arguments.to_vec()));
        number
    });
    match *arguments {
        [x] => note(Node::Fit(number, x)),
        [x, y] => note(Node::BivariateFit(number, x, y)),
        _ => constant(f64::NAN), // not reached: fits have one argument or two
    }
}

/// Notes whether all conditions of what has been recorded hold, as a number that is then not 0.
pub(super) fn all_hold(recording: &mut Recording) -> u32 {
    let conditions = std::mem::take(&mut recording.conditions);
    let one = recording.place(Node::Constant(1.0_f64.to_bits()));
    conditions.into_iter().fold(one, |all, condition| {
        let node = match condition {
            Condition::NotZero(one) => Node::Binary(Binary::Mul, all, one),
            Condition::Inside(fit, x) => match x[..] {
                [x] => Node::Inside(fit, all, x),
                [x, y] => Node::BivariateInside(fit, all, x, y),
                _ => Node::Constant(0.0_f64.to_bits()), // not reached, as above
            },
        };
        recording.place(node)
    })
}
