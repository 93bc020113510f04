//! Between flat names and the nested body: `hops.0.name` ⇄ `{"hops": [{"name": …}]}`.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Map, Value, json};
use time::{OffsetDateTime, format_description::well_known::Rfc3339};

use super::{
    field::{self, Kind},
    rows,
};
use crate::{
    brewday::{Fault, Units},
    web::{
        units,
        when::{self, Clock},
    },
};

/// The canonical body, with what can't be read. What was typed goes along as
/// `typed` where it is more than the plain canonical number.
pub(super) fn body(texts: &[(String, String)], units: &Units, clock: &Clock) -> (Value, Vec<Fault>) {
    let by_name: BTreeMap<&str, &str> = texts.iter().map(|(name, text)| (name.as_str(), text.trim())).collect();
    let mut body = Map::new();
    let mut typed = Map::new();
    let mut faults = Vec::new();
    let mut done = BTreeSet::new();
    // In the page's own order, so that the summary reads from the top down.
    for (name, _) in texts {
        let text = by_name.get(name.as_str()).copied().unwrap_or_default();
        if text.is_empty() || !done.insert(name) {
            continue;
        }
        let sibling = |other: &str| by_name.get(field::beside(name, other).as_str()).copied().unwrap_or_default();
        match canonical(text, field::kind(name, sibling), units, clock) {
            Ok((value, said)) => {
                set(&mut body, name, value);
                typed.extend(said.map(|said| (name.clone(), Value::String(said))));
            }
            Err(sentence) => {
                // It holds its row's place, so that the rows after it keep theirs.
                set(&mut body, name, Value::Null);
                faults.push(Fault::new(name.as_str(), sentence));
            }
        }
    }
    if !typed.is_empty() {
        body.insert("typed".into(), Value::Object(typed));
    }
    (Value::Object(body), faults)
}

/// A text as its canonical value, and what is worth keeping of how it was typed.
fn canonical(text: &str, kind: Kind, units: &Units, clock: &Clock) -> Result<(Value, Option<String>), String> {
    Ok(match kind {
        Kind::Text => (text.into(), None),
        Kind::Flag => (matches!(text, "true" | "on" | "yes" | "1").into(), None),
        Kind::Id => (text.parse::<i64>().map_err(|_| "Choose one of these.")?.into(), None),
        Kind::Time => (when::utc_ms(clock.read(text)?).into(), None),
        Kind::Number(dimension) => {
            let reading = units::read(text, dimension, units)?;
            let said = if reading.unit_typed || reading.scale.symbol.is_empty() {
                text.to_owned()
            } else {
                format!("{text} {}", reading.scale.symbol)
            };
            (json!(reading.kept), (text != reading.kept.to_string()).then_some(said))
        }
    })
}

/// Puts a value at its place, making the groups and lists on the way. The body
/// itself is a group, whatever a name begins with.
fn set(group: &mut Map<String, Value>, name: &str, value: Value) {
    let (part, rest) = name.split_once('.').unwrap_or((name, ""));
    set_within(group.entry(part).or_insert(Value::Null), rest, value);
}

fn set_within(place: &mut Value, name: &str, value: Value) {
    if name.is_empty() {
        *place = value;
        return;
    }
    let (part, rest) = name.split_once('.').unwrap_or((name, ""));
    match rows::number(part) {
        Some(index) => {
            if !place.is_array() {
                *place = Value::Array(Vec::new());
            }
            if let Some(list) = place.as_array_mut() {
                // Rows are closed up, so a number is never far past the end.
                let index = usize::try_from(index).unwrap_or_default();
                if list.len() <= index {
                    list.resize(index + 1, Value::Null);
                }
                set_within(&mut list[index], rest, value);
            }
        }
        None => {
            if !place.is_object() {
                *place = Value::Object(Map::new());
            }
            if let Some(group) = place.as_object_mut() {
                set(group, name, value);
            }
        }
    }
}

/// Every field of a body as its text.
pub(super) fn texts(body: &Value, units: &Units, clock: &Clock) -> Vec<(String, String)> {
    let mut texts = Vec::new();
    walk(body, String::new(), &mut |name, value| {
        let said = body.get("typed").and_then(|typed| typed.get(&name)).and_then(Value::as_str);
        let sibling = |other: &str| at(body, &field::beside(&name, other)).and_then(Value::as_str).unwrap_or_default();
        let text = in_words(value, said, field::kind(&name, sibling), units, clock);
        texts.push((name, text));
    });
    texts
}

fn walk(value: &Value, name: String, visit: &mut impl FnMut(String, &Value)) {
    let inner = |part: &str| if name.is_empty() { part.to_owned() } else { format!("{name}.{part}") };
    match value {
        Value::Object(group) => {
            for (part, value) in group.iter().filter(|(part, _)| *part != "typed") {
                walk(value, inner(part), visit);
            }
        }
        Value::Array(list) => {
            for (index, value) in list.iter().enumerate() {
                walk(value, inner(&index.to_string()), visit);
            }
        }
        Value::Null => {}
        value => visit(name, value),
    }
}

fn at<'a>(body: &'a Value, name: &str) -> Option<&'a Value> {
    body.pointer(&format!("/{}", name.replace('.', "/")))
}

fn in_words(value: &Value, said: Option<&str>, kind: Kind, units: &Units, clock: &Clock) -> String {
    match (value, kind) {
        (Value::Number(number), Kind::Number(dimension)) => {
            let kept = number.as_f64().unwrap_or_default();
            // What was typed stands only as long as it still says the same. The
            // unit beside the field needn't be in it as well.
            let still = |said: &&str| units::read(said, dimension, units).is_ok_and(|read| read.kept == kept);
            let bare =
                said.and_then(|said| Some(said.strip_suffix(units::chosen(dimension, units).symbol)?.trim_end()));
            let typed = bare.filter(still).or(said.filter(still));
            typed.map_or_else(|| units::as_typed(kept, dimension, units), str::to_owned)
        }
        (Value::String(text), Kind::Time) => {
            OffsetDateTime::parse(text, &Rfc3339).map_or_else(|_| text.clone(), |at| clock.field(at))
        }
        (Value::String(text), _) => text.clone(),
        (value, _) => value.to_string(),
    }
}
