//! Texts and JSON made hostile: bytes, tokens and lines changed, and what numbers and names are
//! seldom tried with put in their place.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};
use serde_json::Value;

const NUMBERS: [&str; 33] = [
    "0",
    "-0",
    "-1",
    "1",
    "2",
    "0.5",
    "1e-3",
    "1e3",
    "1e-9",
    "1e9",
    "1e15",
    "1e-15",
    "1e30",
    "1e150",
    "1e-150",
    "1e300",
    "1e308",
    "1.7976931348623157e308",
    "1e309",
    "5e-324",
    "1e-320",
    "nan",
    "inf",
    "-inf",
    "9007199254740993",
    "18446744073709551615",
    "18446744073709551616",
    "-9223372036854775809",
    "1e",
    "0x10",
    "1_000",
    "1,5",
    "\u{0663}",
];

const WORDS: [&str; 30] = [
    "",
    " ",
    "\"",
    "'",
    "\\",
    "\n",
    "\r",
    "\t",
    "\0",
    "\u{1b}[2J",
    "\u{7f}",
    "\u{200b}",
    "\u{202e}",
    "\u{feff}",
    "\u{fffd}",
    "%",
    "ppm",
    "mm",
    "degC",
    "+/-",
    "=",
    ",",
    ";",
    "{",
    "[",
    "]]",
    "#",
    "../../etc/passwd",
    "=1+1",
    "true",
];

/// Random numbers and what is made of them.
pub struct Source(Xoshiro256PlusPlus);

impl Source {
    pub fn new(seed: u64) -> Source {
        Source(Xoshiro256PlusPlus::seed_from_u64(seed))
    }

    /// A number below `n`; 0 where `n` is 0.
    pub fn below(&mut self, n: usize) -> usize {
        let scaled = u128::from(self.0.next_u64()) * n as u128;
        (scaled >> 64) as usize
    }

    pub fn one<'a, T: ?Sized>(&mut self, of: &[&'a T]) -> &'a T {
        of[self.below(of.len())]
    }

    /// A few changes, each somewhere; most often one.
    pub fn mutated(&mut self, text: &str, others: &[String]) -> String {
        let mut text = text.to_owned();
        loop {
            text = self.changed_once(&text, others);
            if self.below(3) > 0 {
                return text;
            }
        }
    }

    fn changed_once(&mut self, text: &str, others: &[String]) -> String {
        match self.below(12) {
            0 => self.bytes_changed(text),
            1..=4 => self.number_changed(text),
            5 => self.token_swapped(text),
            6 => self.word_put_in(text),
            7..=10 => self.line_changed(text, others),
            _ => self.long(text),
        }
    }

    /// A place at the border of two characters.
    fn border(&mut self, text: &str) -> usize {
        let mut at = self.below(text.len() + 1);
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    }

    fn bytes_changed(&mut self, text: &str) -> String {
        let mut bytes = text.as_bytes().to_vec();
        let at = self.below(bytes.len());
        match self.below(4) {
            0 if !bytes.is_empty() => bytes[at] ^= 1 << self.below(8),
            1 => bytes.insert(at, self.below(256) as u8),
            2 => bytes.truncate(at),
            _ => {
                let end = (at + self.below(8)).min(bytes.len());
                bytes.drain(at..end);
            }
        }
        String::from_utf8_lossy(&bytes).into_owned()
    }

    /// The places of what looks like a number.
    fn numbers(text: &str) -> Vec<(usize, usize)> {
        let bytes = text.as_bytes();
        let part = |b: u8| b.is_ascii_digit() || b == b'.' || b == b'-';
        let mut found = Vec::new();
        let mut at = 0;
        while at < bytes.len() {
            let begin = at;
            while at < bytes.len() && part(bytes[at]) {
                at += 1;
            }
            if bytes[begin..at].iter().any(u8::is_ascii_digit) {
                found.push((begin, at));
            }
            at = at.max(begin + 1);
        }
        found
    }

    fn number_changed(&mut self, text: &str) -> String {
        let found = Source::numbers(text);
        if found.is_empty() {
            return self.word_put_in(text);
        }
        let (begin, end) = found[self.below(found.len())];
        let number = text[begin..end].parse::<f64>().unwrap_or(1.0);
        let new = match self.below(4) {
            0 => self.one(&NUMBERS).to_owned(),
            // of the size that was there, or of any size
            1 => format!("{}", number * (0.5 + self.below(1000) as f64 / 1000.0)),
            2 => format!("{number}e{}", self.below(41) as i32 - 20),
            _ => format!("{}", -number),
        };
        format!("{}{new}{}", &text[..begin], &text[end..])
    }

    /// Two words or numbers change places, or one takes the place of the other.
    fn token_swapped(&mut self, text: &str) -> String {
        let tokens: Vec<&str> = text
            .split(|c: char| !(c.is_alphanumeric() || "_.-/".contains(c)))
            .filter(|token| !token.is_empty())
            .collect();
        if tokens.len() < 2 {
            return self.word_put_in(text);
        }
        let (one, other) = (self.one(&tokens), self.one(&tokens));
        // slices of `text`, so that their place in it is known
        let at = one.as_ptr() as usize - text.as_ptr() as usize;
        format!("{}{other}{}", &text[..at], &text[at + one.len()..])
    }

    fn word_put_in(&mut self, text: &str) -> String {
        let at = self.border(text);
        let word = if self.below(3) == 0 {
            self.one(&NUMBERS)
        } else {
            self.one(&WORDS)
        };
        format!("{}{word}{}", &text[..at], &text[at..])
    }

    fn line_changed(&mut self, text: &str, others: &[String]) -> String {
        let mut lines: Vec<&str> = text.lines().collect();
        let (at, to) = (self.below(lines.len()), self.below(lines.len() + 1));
        match self.below(4) {
            0 if !lines.is_empty() => {
                lines.remove(at);
            }
            1 if !lines.is_empty() => lines.insert(to, lines[at]),
            2 if !lines.is_empty() => {
                let line = lines.remove(at);
                lines.insert(to.min(lines.len()), line);
            }
            _ => {
                let other: Vec<&str> = others[self.below(others.len())].lines().collect();
                if let Some(line) = other.get(self.below(other.len())) {
                    // an example that is off is put on
                    lines.insert(to, line.strip_prefix('#').unwrap_or(line));
                }
            }
        }
        lines.join("\n") + "\n"
    }

    /// Something is said very often.
    fn long(&mut self, text: &str) -> String {
        let (at, times) = (self.border(text), 1 << self.below(14));
        let word = if self.below(2) == 0 {
            self.one(&WORDS)
        } else {
            "9"
        };
        format!("{}{}{}", &text[..at], word.repeat(times), &text[at..])
    }

    /// JSON with one value changed; the path of the change by its keys.
    pub fn mutated_json(&mut self, value: &mut Value) -> Vec<String> {
        match value {
            Value::Object(members) if !members.is_empty() && self.below(20) > 0 => {
                let key = members.keys().nth(self.below(members.len())).cloned();
                let key = key.unwrap_or_default();
                match self.below(60) {
                    0 => {
                        members.remove(&key);
                    }
                    1 => {
                        let taken = members.remove(&key).unwrap_or_default();
                        members.insert(format!("{key}_"), taken);
                    }
                    _ => {
                        let mut path = self.mutated_json(&mut members[&key]);
                        path.insert(0, key);
                        return path;
                    }
                }
                vec![key]
            }
            Value::Array(rows) if !rows.is_empty() && self.below(20) > 0 => {
                let at = self.below(rows.len());
                match self.below(10) {
                    0 => {
                        rows.remove(at);
                    }
                    1 => rows.insert(at, rows[at].clone()),
                    _ => {
                        let mut path = self.mutated_json(&mut rows[at]);
                        path.insert(0, at.to_string());
                        return path;
                    }
                }
                vec![at.to_string()]
            }
            _ => {
                *value = self.other_value(value);
                Vec::new()
            }
        }
    }

    fn other_value(&mut self, value: &Value) -> Value {
        match (value, self.below(8)) {
            (Value::Number(number), 0..=5) => {
                let x = number.as_f64().unwrap_or(1.0);
                let factor = [1.0 + 1e-15, 1.0 + 1e-6, 1.5, -1.0, 0.0, 1e300][self.below(6)];
                serde_json::Number::from_f64(x * factor).map_or(Value::Null, Value::Number)
            }
            (Value::String(text), 0..=5) => {
                Value::String(self.mutated(text, std::slice::from_ref(text)))
            }
            (Value::Bool(on), 0..=5) => Value::Bool(!on),
            (_, 0) => Value::Null,
            (_, 1) => Value::from(self.below(1000)),
            (_, 2) => Value::from(vec![0.0; 3]),
            (_, 3) => Value::from(true),
            _ => Value::String(self.word_put_in("text")),
        }
    }
}
