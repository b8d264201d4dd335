//! The steps of a calculation, taken down where they are computed: what a worksheet shows is what
//! the model did.
//!
//! An equation is text that a pocket calculator understands: `+ - * / ^`, parentheses, `sqrt`, `abs`,
//! `sin`, `ln`, `log10`, `exp`, `pi`, and the symbols of earlier steps. A test evaluates every one.

use std::borrow::Cow;

/// How a value was found.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Way {
    /// By an equation, whose right-hand side this is.
    Equation(Cow<'static, str>),
    /// As the root of an equation, whose two sides these are.
    Root(Cow<'static, str>, Cow<'static, str>),
    /// By an iteration that a later step confirms, or as stated; how, in words.
    Words(Cow<'static, str>),
}

/// A step: a symbol, what it is, how its value was found. Values are in SI units.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Step<S> {
    pub(crate) symbol: Cow<'static, str>,
    pub(crate) words: Cow<'static, str>,
    pub(crate) way: Way,
    pub(crate) value: S,
    pub(crate) unit: Cow<'static, str>,
    /// Where the equation comes from.
    pub(crate) source: Cow<'static, str>,
}

impl<S> Step<S> {
    /// A step by an equation, without a source.
    pub(crate) fn new(
        symbol: impl Into<Cow<'static, str>>,
        words: impl Into<Cow<'static, str>>,
        equation: impl Into<Cow<'static, str>>,
        value: S,
        unit: impl Into<Cow<'static, str>>,
    ) -> Step<S> {
        Step {
            symbol: symbol.into(),
            words: words.into(),
            way: Way::Equation(equation.into()),
            value,
            unit: unit.into(),
            source: Cow::Borrowed(""),
        }
    }

    /// The step with its source.
    pub(crate) fn from(mut self, source: impl Into<Cow<'static, str>>) -> Step<S> {
        self.source = source.into();
        self
    }

    /// The step whose equation is solved for the symbol, with the other side of it.
    pub(crate) fn root_of(mut self, other: impl Into<Cow<'static, str>>) -> Step<S> {
        self.way = match self.way {
            Way::Equation(side) => Way::Root(side, other.into()),
            other => other,
        };
        self
    }

    /// The step whose value was found as the words say.
    pub(crate) fn found(mut self, words: impl Into<Cow<'static, str>>) -> Step<S> {
        self.way = Way::Words(words.into());
        self
    }
}

/// Who takes the steps down; `()` is nobody, and costs nothing.
pub(crate) trait Notes<S> {
    /// Whether anybody does.
    const TAKEN: bool;

    /// Takes down a step.
    fn note(&mut self, step: impl FnOnce() -> Step<S>);
}

impl<S> Notes<S> for () {
    const TAKEN: bool = false;

    fn note(&mut self, _: impl FnOnce() -> Step<S>) {}
}

impl<S> Notes<S> for Vec<Step<S>> {
    const TAKEN: bool = true;

    fn note(&mut self, step: impl FnOnce() -> Step<S>) {
        self.push(step());
    }
}

/// A part of an equation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Token<'a> {
    /// The symbol of a quantity, such as `c_f` or `u(c_f)`.
    Symbol(&'a str),
    /// Anything else: numbers, operators, names of functions, spaces.
    Other(&'a str),
}

/// What is said of a quantity, as in `u(x)`: its standard uncertainty, its standard deviation, its
/// effective number of readings, its degrees of freedom, its sensitivity coefficient, its contribution.
const OF_A_QUANTITY: [&str; 6] = ["u", "s", "n_eff", "dof", "c", "uQ"];

/// The parts of an equation, which put together give it again.
pub(crate) fn tokens(equation: &str) -> Vec<Token<'_>> {
    let part_of_name = |c: char| c.is_ascii_alphanumeric() || c == '_';
    let length = |text: &str| text.find(|c: char| !part_of_name(c)).unwrap_or(text.len());
    let mut tokens = Vec::new();
    let mut rest = equation;
    while let Some(first) = rest.chars().next() {
        let end = if first.is_ascii_digit() {
            number_length(rest)
        } else {
            length(rest).max(first.len_utf8())
        };
        let (head, tail) = rest.split_at(end);
        let inside = tail
            .strip_prefix('(')
            .filter(|_| OF_A_QUANTITY.contains(&head));
        let whole = inside.and_then(|inside| {
            let name = length(inside);
            let closed = name > 0 && inside[name..].starts_with(')');
            closed.then_some(end + name + 2)
        });
        let token = match whole {
            Some(end) => Token::Symbol(&rest[..end]),
            None if first.is_ascii_alphabetic() && !tail.starts_with('(') && head != "pi" => {
                Token::Symbol(head)
            }
            None => Token::Other(head),
        };
        let (Token::Symbol(text) | Token::Other(text)) = token;
        rest = &rest[text.len()..];
        tokens.push(token);
    }
    tokens
}

/// Length of the number with which the text begins, exponent included.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |from: usize| {
        let rest = bytes.iter().skip(from);
        from + rest
            .take_while(|b| b.is_ascii_digit() || **b == b'.')
            .count()
    };
    let mantissa = digits(0);
    let Some(b'e' | b'E') = bytes.get(mantissa) else {
        return mantissa;
    };
    let sign = matches!(bytes.get(mantissa + 1), Some(b'+' | b'-'));
    let first = mantissa + 1 + usize::from(sign);
    let end = digits(first);
    if end > first { end } else { mantissa }
}

#[cfg(test)]
mod tests {
    use super::{Token, tokens};

    #[test]
    fn symbols_are_told_from_numbers_and_functions() {
        let equation = "2*e_l*sin(theta_w)/1.5e-3^2 + c(c_p)*u(c_p) - pi*water_density(T, p)";
        let found = tokens(equation);
        let symbols: Vec<&str> = found
            .iter()
            .filter_map(|token| match token {
                Token::Symbol(symbol) => Some(*symbol),
                Token::Other(_) => None,
            })
            .collect();
        assert_eq!(symbols, ["e_l", "theta_w", "c(c_p)", "u(c_p)", "T", "p"]);
        let text: String = found
            .iter()
            .map(|token| match token {
                Token::Symbol(text) | Token::Other(text) => *text,
            })
            .collect();
        assert_eq!(text, equation);
    }
}
