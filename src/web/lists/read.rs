//! From the form to the check lists: a new line is given a key of its own.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::brewday::{
    CheckLists, Fault,
    choices::{CareAct, Choice, EquipmentKind},
};

/// The longest key made from a line's text.
const KEY_CHARS: usize = 40;

/// Reads the lists. A line keeps its key for ever, whatever becomes of its text:
/// entries and pitch clearance name it by that.
pub(super) fn lists(body: &Value) -> Result<CheckLists, Vec<Fault>> {
    let mut body = body.clone();
    let mut keys: BTreeSet<String> = items(&mut body).filter_map(|item| text_of(item, "key")).collect();
    for item in items(&mut body).filter(|item| item.is_object()) {
        // A line stays a line, however it was typed.
        if let Some(text) = text_of(item, "text") {
            item["text"] = text.split_whitespace().collect::<Vec<_>>().join(" ").into();
        }
        if text_of(item, "key").is_none() {
            let key = new_key(&text_of(item, "text").unwrap_or_default(), &keys);
            item["key"] = key.clone().into();
            keys.insert(key);
        }
    }
    CheckLists::from_body(&body)
}

/// "Coil, cleaned", or nothing.
pub(super) fn care_in_words(kind: &str, act: &str) -> String {
    let (kind, act) = (EquipmentKind::from_key(kind), CareAct::from_key(act));
    let words = [kind.map(Choice::label), act.map(Choice::label)];
    words.into_iter().flatten().collect::<Vec<_>>().join(", ").to_lowercase()
}

fn items(body: &mut Value) -> impl Iterator<Item = &mut Value> {
    let lists = body.get_mut("lists").and_then(Value::as_array_mut).into_iter().flatten();
    lists.filter_map(|list| list.get_mut("items")?.as_array_mut()).flatten()
}

fn text_of(item: &Value, name: &str) -> Option<String> {
    item.get(name).and_then(Value::as_str).map(str::to_owned)
}

/// "Coil weighed, wet" is `coil_weighed_wet`, with a number where that is taken.
fn new_key(text: &str, taken: &BTreeSet<String>) -> String {
    let words = text.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    let mut stem: String = words.collect::<Vec<_>>().join("_").to_lowercase();
    stem.truncate(KEY_CHARS);
    if stem.is_empty() {
        stem.push_str("line");
    }
    let numbered = (2..).map(|number| format!("{stem}_{number}"));
    // There are always more numbers than lines.
    [stem.clone()].into_iter().chain(numbered).find(|key| !taken.contains(key)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn a_new_line_gets_a_key_of_its_own_and_an_old_one_keeps_its() {
        let body = json!({ "lists": [{ "name": "One", "stage": "chill", "items": [
            { "text": "Coil weighed, wet" },
            { "key": "coil_weighed_wet", "text": "Said otherwise now" },
            { "text": "Coil weighed: wet!" },
            { "text": "Ψυγείο" },
        ]}]});
        let lists = lists(&body).expect("lists");
        let keys: Vec<&str> = lists.0[0].items.iter().map(|item| item.key.as_str()).collect();
        assert_eq!(keys, ["coil_weighed_wet_2", "coil_weighed_wet", "coil_weighed_wet_3", "line"]);
    }
}
