//! What a row's button does to the form before it is read: `row=up-lists.0.items-2`.

/// What was asked of a row. The texts name the list, `lists.0.items`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Act {
    /// A blank row at the end of a list.
    Add(String),
    /// The row of this number out of a list.
    Remove(String, usize),
    /// Two rows of a list change places.
    Swap(String, usize, usize),
}

/// Takes out which button was pressed, where it is one of a row's.
pub(super) fn take_act(pairs: &mut Vec<(String, String)>) -> Option<Act> {
    let place = pairs.iter().position(|(name, _)| name == "row")?;
    let (_, button) = pairs.remove(place);
    let (verb, rest) = button.split_once('-')?;
    if verb == "add" {
        return Some(Act::Add(rest.to_owned()));
    }
    let (list, index) = rest.rsplit_once('-')?;
    let (list, index): (String, usize) = (list.to_owned(), index.parse().ok()?);
    match verb {
        "remove" => Some(Act::Remove(list, index)),
        "up" => Some(Act::Swap(list, index, index.checked_sub(1)?)),
        "down" => Some(Act::Swap(list, index, index.checked_add(1)?)),
        _ => None,
    }
}

/// The form's texts after a button; a removed row's place is closed up later.
pub(super) fn after(act: Option<&Act>, pairs: Vec<(String, String)>) -> Vec<(String, String)> {
    match act {
        None | Some(Act::Add(_)) => pairs,
        Some(Act::Remove(list, index)) => {
            let row = format!("{list}.{index}.");
            pairs.into_iter().filter(|(name, _)| !name.starts_with(&row)).collect()
        }
        Some(Act::Swap(list, one, other)) => {
            let (one, other) = (format!("{list}.{one}."), format!("{list}.{other}."));
            let moved = |name: String| match (name.strip_prefix(&one), name.strip_prefix(&other)) {
                (Some(field), _) => format!("{other}{field}"),
                (None, Some(field)) => format!("{one}{field}"),
                (None, None) => name,
            };
            pairs.into_iter().map(|(name, text)| (moved(name), text)).collect()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pairs(texts: &[(&str, &str)]) -> Vec<(String, String)> {
        texts.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect()
    }

    #[test]
    fn a_button_says_what_and_where() {
        for (button, act) in [
            ("add-lists.0.items", Some(Act::Add("lists.0.items".into()))),
            ("remove-lists-1", Some(Act::Remove("lists".into(), 1))),
            ("up-lists.0.items-2", Some(Act::Swap("lists.0.items".into(), 2, 1))),
            ("down-lists-0", Some(Act::Swap("lists".into(), 0, 1))),
            ("up-lists-0", None),
            ("turn-lists-0", None),
            ("up-lists-x", None),
            ("", None),
        ] {
            let mut sent = pairs(&[("lists.0.name", "One"), ("row", button)]);
            assert_eq!(take_act(&mut sent), act, "{button}");
            assert_eq!(sent, pairs(&[("lists.0.name", "One")]), "the button is no part of the lists");
        }
    }

    #[test]
    fn rows_change_places_with_all_that_is_in_them() {
        let sent = pairs(&[
            ("lists.1.name", "One"),
            ("lists.1.items.0.text", "a"),
            ("lists.10.name", "Ten"),
            ("lists.2.name", "Two"),
        ]);
        let swapped = after(Some(&Act::Swap("lists".into(), 1, 2)), sent.clone());
        let told =
            [("lists.2.name", "One"), ("lists.2.items.0.text", "a"), ("lists.10.name", "Ten"), ("lists.1.name", "Two")];
        assert_eq!(swapped, pairs(&told));
        let left = after(Some(&Act::Remove("lists".into(), 1)), sent);
        assert_eq!(left, pairs(&[("lists.10.name", "Ten"), ("lists.2.name", "Two")]));
    }
}
