//! Sentences that can be said in another language: what they say has a name that never changes, and
//! what they tell of stands apart from the words.

use std::borrow::Cow;
use std::sync::Arc;

/// Something that a sentence tells of.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Told {
    /// A number with or without its unit, the same in every language but for its signs.
    Number(String),
    /// A Reynolds number, which records hold with three digits and a power of ten.
    Reynolds(f64),
    /// A word of ours, one of a few, which has a name in each language.
    Word(&'static str),
    /// An input, by its path in the site file.
    Input(String),
    /// A key of the site file.
    Key(&'static str),
    /// What somebody wrote.
    Theirs(String),
    /// A sentence within the sentence.
    Said(Box<Message>),
    /// Several of these, with what stands between them.
    Joined(Vec<Told>, &'static str),
}

impl Told {
    fn words(&self) -> Cow<'_, str> {
        match self {
            Told::Number(text) | Told::Input(text) | Told::Theirs(text) => text.into(),
            Told::Reynolds(value) => format!("{value:.2e}").into(),
            Told::Word(word) | Told::Key(word) => (*word).into(),
            Told::Said(message) => message.words().into(),
            Told::Joined(each, between) => {
                let words: Vec<Cow<'_, str>> = each.iter().map(Told::words).collect();
                words.join(between).into()
            }
        }
    }
}

impl From<String> for Told {
    fn from(number: String) -> Told {
        Told::Number(number)
    }
}

impl From<&'static str> for Told {
    fn from(word: &'static str) -> Told {
        Told::Word(word)
    }
}

impl From<Message> for Told {
    fn from(message: Message) -> Told {
        Told::Said(Box::new(message))
    }
}

/// A sentence: its name, its words in English with `{places}`, and what stands in these.
#[derive(Debug, Clone, PartialEq)]
pub struct Message {
    key: &'static str,
    english: &'static str,
    told: Vec<(&'static str, Told)>,
}

impl Message {
    #[doc(hidden)]
    pub fn new(
        key: &'static str,
        english: &'static str,
        told: Vec<(&'static str, Told)>,
    ) -> Message {
        let message = Message { key, english, told };
        debug_assert!(message.is_complete(), "places of {key}: {english}");
        message
    }

    /// Whether each place is filled, and each that is told of has a place.
    fn is_complete(&self) -> bool {
        let place = |name: &str| format!("{{{name}}}");
        let told = self.told.iter().map(|(name, _)| place(name));
        let mut rest = self.english.to_owned();
        for own in told {
            if !rest.contains(&own) {
                return false;
            }
            rest = rest.replace(&own, "");
        }
        !rest.contains(['{', '}'])
    }

    /// The name of the sentence, under which a language has its words.
    pub fn key(&self) -> &'static str {
        self.key
    }

    /// What stands in the places, by name.
    pub fn told(&self) -> &[(&'static str, Told)] {
        &self.told
    }

    /// The sentence in English.
    pub fn words(&self) -> String {
        let mut words = String::new();
        let mut rest = self.english;
        while let Some((before, after)) = rest.split_once('{') {
            words += before;
            let Some((name, after)) = after.split_once('}') else {
                break; // not reached: places are closed, which a test looks at
            };
            if let Some((_, told)) = self.told.iter().find(|(own, _)| *own == name) {
                words += &told.words();
            }
            rest = after;
        }
        words + rest
    }
}

/// The sentence from which words were made that stand beside it. The words alone are kept in files and
/// tell whether two results are the same.
#[derive(Debug, Clone, Default)]
pub struct Sentence(Option<Arc<Message>>);

impl Sentence {
    /// The sentence; `None` where the words were read from a file.
    pub fn message(&self) -> Option<&Message> {
        self.0.as_deref()
    }
}

impl From<Message> for Sentence {
    fn from(message: Message) -> Sentence {
        Sentence(Some(Arc::new(message)))
    }
}

impl PartialEq for Sentence {
    fn eq(&self, _: &Sentence) -> bool {
        true
    }
}

/// A [`Message`]: its name, its words in English, and what stands in their places.
macro_rules! message {
    ($key:literal, $english:expr $(, $name:ident = $told:expr)* $(,)?) => {
        $crate::message::Message::new(
            $key,
            $english,
            vec![$((stringify!($name), $crate::message::Told::from($told))),*],
        )
    };
}

pub(crate) use message;
