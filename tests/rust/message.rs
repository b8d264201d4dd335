//! Sentences of the core: in English as written, with what they tell of apart.

use flowdoubt::message::{Message, Told};

fn sentence(told: Vec<(&'static str, Told)>) -> Message {
    Message::new("a.key", "{point} has {runs} runs; {more}", told)
}

#[test]
fn places_are_filled_with_what_is_told() {
    let inner = Message::new(
        "b.key",
        "each {time} long",
        vec![("time", "3 s".to_owned().into())],
    );
    let message = sentence(vec![
        // what somebody wrote is not read for places
        ("point", Told::Theirs("{runs} low".to_owned())),
        ("runs", "2".to_owned().into()),
        ("more", inner.into()),
    ]);
    assert_eq!(message.words(), "{runs} low has 2 runs; each 3 s long");
    assert_eq!(message.key(), "a.key");
    assert_eq!(message.told().len(), 3);
}

#[test]
fn lists_have_what_stands_between() {
    let list = Told::Joined(vec![Told::Word("later"), Told::Key("path.wall")], ", ");
    let message = Message::new("c.key", "{list}", vec![("list", list)]);
    assert_eq!(message.words(), "later, path.wall");
}

#[test]
#[cfg(debug_assertions)]
#[should_panic(expected = "places of a.key")]
fn a_place_that_nothing_fills_is_a_fault() {
    sentence(vec![("point", Told::Word("low"))]);
}
