//! What a row's button does to the form before it is read: `row=up-lists.0.items-2`.

/// What a form sent: names and texts.
type Texts = Vec<(String, String)>;

/// What was asked of a row. The texts name the list, `lists.0.items`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Act {
    /// A blank row at the end of a list.
    Add(String),
    /// The row of this number out of a list.
    Remove(String, usize),
    /// Two rows of a list change places.
    Swap(String, usize, usize),
    /// The row that was taken out last comes back to its place.
    Back,
}

/// What stands before the texts of the row that was taken out last: they go along
/// with the form, so that it can come back.
const GONE: &str = "gone.";
/// Where it stood: `lists.0.items-2`.
const GONE_FROM: &str = "gone.from";

/// Takes out which button was pressed, where it is one of a row's.
pub(super) fn take_act(pairs: &mut Texts) -> Option<Act> {
    let place = pairs.iter().position(|(name, _)| name == "row")?;
    let (_, button) = pairs.remove(place);
    if button == "back" {
        return Some(Act::Back);
    }
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
pub(super) fn after(act: Option<&Act>, pairs: Texts) -> Texts {
    match act {
        None | Some(Act::Add(_)) => pairs,
        Some(Act::Remove(list, index)) => {
            let row = format!("{list}.{index}.");
            let moved = |(name, text): (String, String)| match name.strip_prefix(&row) {
                Some(field) => (format!("{GONE}{field}"), text),
                None => (name, text),
            };
            let (_, kept) = without_gone(pairs);
            let gone_from = (GONE_FROM.to_owned(), format!("{list}-{index}"));
            kept.into_iter().map(moved).chain([gone_from]).collect()
        }
        Some(Act::Back) => put_back(pairs),
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

/// The texts of the row that was taken out last, and all the others.
pub(super) fn without_gone(pairs: Texts) -> (Texts, Texts) {
    pairs.into_iter().partition(|(name, _)| name.starts_with(GONE))
}

/// The row that was taken out, in its place again; those after it make room.
fn put_back(pairs: Texts) -> Texts {
    let (gone, mut kept) = without_gone(pairs);
    let from = gone.iter().find(|(name, _)| name == GONE_FROM).and_then(|(_, from)| from.rsplit_once('-'));
    let Some((list, place)) = from.and_then(|(list, place)| Some((list, place.parse::<usize>().ok()?))) else {
        return kept;
    };
    let rows = format!("{list}.");
    for (name, _) in &mut kept {
        let Some((index, field)) = name.strip_prefix(&rows).and_then(|rest| rest.split_once('.')) else { continue };
        if let Some(index) = index.parse::<usize>().ok().filter(|index| *index >= place) {
            *name = format!("{rows}{}.{field}", index.saturating_add(1));
        }
    }
    let gone = gone.iter().filter(|(name, _)| name != GONE_FROM);
    let back = gone.map(|(name, text)| (name.replacen(GONE, &format!("{rows}{place}."), 1), text.clone()));
    kept.extend(back);
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pairs(texts: &[(&str, &str)]) -> Texts {
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
            ("back", Some(Act::Back)),
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
        let (gone, left) = without_gone(after(Some(&Act::Remove("lists".into(), 1)), sent));
        assert_eq!(left, pairs(&[("lists.10.name", "Ten"), ("lists.2.name", "Two")]));
        assert_eq!(gone, pairs(&[("gone.name", "One"), ("gone.items.0.text", "a"), ("gone.from", "lists-1")]));
    }

    #[test]
    fn a_row_taken_out_comes_back_to_its_place_and_only_the_last_one_does() {
        let texts = [("lists.0.items.0.text", "a"), ("lists.0.items.1.text", "b"), ("lists.0.items.2.text", "c")];
        let remove = |index| Act::Remove("lists.0.items".into(), index);
        let without = after(Some(&remove(1)), pairs(&texts));
        // As the page gives them, closed up.
        let closed: Vec<_> =
            without.into_iter().map(|(name, text)| (name.replace("items.2.", "items.1."), text)).collect();
        let mut back = after(Some(&Act::Back), closed.clone());
        back.sort();
        assert_eq!(back, pairs(&texts));
        let (gone, _) = without_gone(after(Some(&remove(0)), closed));
        assert_eq!(gone, pairs(&[("gone.text", "a"), ("gone.from", "lists.0.items-0")]));
        let nonsense = pairs(&[("lists.0.name", "One"), ("gone.from", "nowhere"), ("gone.text", "x")]);
        assert_eq!(after(Some(&Act::Back), nonsense), pairs(&[("lists.0.name", "One")]));
    }
}
