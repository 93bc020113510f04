//! Sound inputs, and what bends them.

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;
use serde_json::{Map, Value, json};

/// Pieces that parsers stumble over.
const PIECES: [&str; 44] = [
    "",
    " ",
    "\u{a0}",
    "\u{202f}",
    "0",
    "-",
    "−",
    "+",
    ".",
    ",",
    "'",
    "’",
    "e",
    "E+308",
    "1e999",
    "NaN",
    "inf",
    "°",
    "F",
    "°C",
    "gal",
    "L",
    "kg",
    "oz",
    "SG",
    "P",
    "%",
    ":",
    "::",
    "/",
    "T",
    "Z",
    "+02:00",
    "-00:00",
    "24:00",
    "\0",
    "\r\n",
    "\u{feff}",
    "é",
    "𝟙",
    "٣",
    "\"",
    "\\",
    "99999999999999999999",
];

/// One step away from a sound text.
#[derive(Clone, Debug)]
pub(crate) enum Bent {
    Out(usize, usize),
    In(usize, &'static str),
    Twice(usize, usize),
    Letter(usize, char),
    Cut(usize),
}

/// A sound text after a few steps, or anything at all.
pub(crate) fn text(sound: &[&'static str]) -> impl Strategy<Value = String> + use<> {
    let step = prop_oneof![
        (0..64_usize, 1..4_usize).prop_map(|(at, many)| Bent::Out(at, many)),
        (0..64_usize, select(&PIECES[..])).prop_map(|(at, piece)| Bent::In(at, piece)),
        (0..64_usize, 1..4_usize).prop_map(|(at, many)| Bent::Twice(at, many)),
        (0..64_usize, any::<char>()).prop_map(|(at, letter)| Bent::Letter(at, letter)),
        (0..64_usize).prop_map(Bent::Cut),
    ];
    let bent = (select(sound.to_vec()), vec(step, 0..5)).prop_map(|(sound, steps)| {
        let mut letters: Vec<char> = sound.chars().collect();
        steps.iter().for_each(|step| step.take(&mut letters));
        letters.into_iter().collect::<String>()
    });
    prop_oneof![9 => bent, 1 => any::<String>()]
}

impl Bent {
    fn take(&self, letters: &mut Vec<char>) {
        let length = letters.len();
        let within = |at: usize| if length == 0 { 0 } else { at % (length + 1) };
        match *self {
            Self::Out(at, many) => {
                letters.drain(within(at)..(within(at) + many).min(length));
            }
            Self::In(at, piece) => {
                letters.splice(within(at)..within(at), piece.chars());
            }
            Self::Twice(at, many) => {
                let piece = letters[within(at)..(within(at) + many).min(length)].to_vec();
                letters.splice(within(at)..within(at), piece);
            }
            Self::Letter(at, letter) => {
                if let Some(place) = letters.get_mut(within(at)) {
                    *place = letter;
                }
            }
            Self::Cut(at) => letters.truncate(within(at)),
        }
    }
}

/// A value where another kind is looked for.
fn odd() -> impl Strategy<Value = Value> {
    const NUMBERS: [f64; 8] = [0.0, -0.0, 1e-300, 1e300, -1.0, 4_294_967_295.0, 9.007_199_254_740_993e15, 20.0];
    prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::Bool),
        select(&NUMBERS[..]).prop_map(|number| json!(number)),
        any::<i64>().prop_map(|number| json!(number)),
        any::<u64>().prop_map(|number| json!(number)),
        select(&PIECES[..]).prop_map(|piece| json!(piece)),
        any::<String>().prop_map(Value::String),
        Just(json!([])),
        Just(json!({})),
        Just(json!([[[{}]]])),
        Just(json!("x".repeat(2001))),
    ]
}

/// A sound record after a few steps; each step goes down into it by its numbers.
pub(crate) fn record(sound: Vec<Value>) -> impl Strategy<Value = Value> {
    let step = (vec(any::<prop::sample::Index>(), 1..5), 0..6_u8, odd());
    (select(sound), vec(step, 0..4)).prop_map(|(mut record, steps)| {
        for (path, how, odd) in steps {
            bend(&mut record, &path, how, odd);
        }
        record
    })
}

fn bend(record: &mut Value, path: &[prop::sample::Index], how: u8, odd: Value) {
    let Some((first, deeper)) = path.split_first() else {
        *record = odd;
        return;
    };
    match record {
        Value::Object(fields) if !fields.is_empty() => bend_field(fields, first, deeper, how, odd),
        Value::Array(rows) if !rows.is_empty() => {
            let place = first.index(rows.len());
            match how {
                0 if deeper.is_empty() => {
                    rows.remove(place);
                }
                1 if deeper.is_empty() => {
                    let row = rows[place].clone();
                    rows.insert(place, row);
                }
                _ => bend(&mut rows[place], deeper, how, odd),
            }
        }
        _ => *record = odd,
    }
}

fn bend_field(
    fields: &mut Map<String, Value>,
    at: &prop::sample::Index,
    deeper: &[prop::sample::Index],
    how: u8,
    odd: Value,
) {
    let names: Vec<String> = fields.keys().cloned().collect();
    let name = &names[at.index(names.len())];
    match how {
        0 if deeper.is_empty() => {
            fields.remove(name);
        }
        // The value of a neighbour.
        1 if deeper.is_empty() => {
            let other = fields[&names[(at.index(names.len()) + 1) % names.len()]].clone();
            fields.insert(name.clone(), other);
        }
        2 if deeper.is_empty() => {
            fields.insert(format!("{name}_"), odd);
        }
        _ => {
            if let Some(field) = fields.get_mut(name) {
                bend(field, deeper, how, odd);
            }
        }
    }
}
