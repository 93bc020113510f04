//! Which templates the visited pages were made with, told by the words that only
//! stand in one of them.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use super::Visited;
use super::routes::{files, home};

/// The words of a template that are the same on every page made with it: what
/// stands between its expressions, line by line.
fn fixed_words(text: &str) -> BTreeSet<String> {
    const LETTERS: usize = 10;
    let mut fixed = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(['{', '\n']) {
        let (before, from) = rest.split_at(at);
        fixed.push_str(before);
        fixed.push('\n');
        let close = ["{{", "{%", "{#"].iter().zip(["}}", "%}", "#}"]).find(|(open, _)| from.starts_with(**open));
        rest = match close {
            Some((_, close)) => from.split_once(close).map_or("", |(_, after)| after),
            None => &from[1..],
        };
    }
    fixed.push_str(rest);
    fixed.lines().map(str::trim).filter(|words| words.len() >= LETTERS).map(str::to_owned).collect()
}

/// Each template with the words that stand in no other.
fn own_words() -> BTreeMap<String, BTreeSet<String>> {
    let folder = home().join("templates");
    let all: BTreeMap<String, BTreeSet<String>> = files(&folder, "html")
        .into_iter()
        .map(|file| {
            let text = fs::read_to_string(&file).expect("a template is text");
            let name = file.strip_prefix(&folder).expect("inside").to_string_lossy().into_owned();
            (name, fixed_words(&text))
        })
        .collect();
    let is_own = |name: &String, words: &str| {
        all.iter().all(|(other, of_other)| other == name || !of_other.iter().any(|one| one.contains(words)))
    };
    all.iter()
        .map(|(name, words)| {
            let own = words.iter().filter(|words| is_own(name, words)).cloned().collect();
            (name.clone(), own)
        })
        .collect()
}

/// The templates that some of these pages were made with.
fn seen(visited: &Visited) -> BTreeSet<String> {
    let own = own_words();
    let made_with =
        |words: &BTreeSet<String>| visited.values().any(|page| words.iter().any(|one| page.text.contains(one)));
    own.into_iter().filter(|(_, words)| made_with(words)).map(|(name, _)| name).collect()
}

/// Every template with words of its own was seen; one without is at least part of one that was.
pub(super) fn all_seen(visited: &Visited) {
    let (own, seen) = (own_words(), seen(visited));
    let text = |name: &String| fs::read_to_string(home().join("templates").join(name)).expect("a template is text");
    let sources: String = files(&home().join("src/web"), "rs")
        .iter()
        .map(|file| fs::read_to_string(file).expect("source is text"))
        .collect();
    let is_part = |name: &String| {
        sources.contains(&format!("path = \"{name}\""))
            || seen.iter().any(|one| text(one).contains(&format!("\"{name}\"")))
    };
    let unseen: Vec<&String> = own
        .iter()
        .filter(|(name, words)| !(seen.contains(*name) || words.is_empty() && is_part(name)))
        .map(|(name, _)| name)
        .collect();
    assert!(unseen.is_empty(), "no visited page was made with these templates: {unseen:?}");
}

#[test]
fn fixed_words_are_what_no_figure_changes() {
    let words =
        fixed_words("<p>Brewed on {{ day }}, a Saturday.</p>{# a note of mine #}\n{% if so %}And so it is{% endif %}");
    let wanted = ["<p>Brewed on", ", a Saturday.</p>", "And so it is"];
    assert_eq!(words, wanted.map(str::to_owned).into());
}
