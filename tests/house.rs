//! Fails when a room of the house uses what it may not.
//!
//! The rooms and their rules are drawn in DEVELOPERS.md. A rule is a list of
//! words that may not stand in a room's code; tests at the end of a file and
//! doc comments are read too, since a rule that bends for them soon bends for all.

use std::fs;
use std::path::{Path, PathBuf};

/// A room, and the words that have no business in it.
struct Rule {
    room: &'static str,
    never: &'static [&'static str],
    why: &'static str,
}

const RULES: &[Rule] = &[
    Rule {
        room: "src/science",
        never: &[
            "serde",
            "sqlx",
            "axum",
            "askama",
            "std::fs",
            "SystemTime",
            "Instant::now",
            "now_utc",
            "jiff",
            "crate::brewday",
            "crate::store",
            "crate::web",
        ],
        why: "science is pure functions on quantities: no forms, clocks, SQL, HTTP or files",
    },
    Rule {
        room: "src/brewday",
        never: &[
            "sqlx",
            "axum",
            "askama",
            "std::fs",
            "SystemTime",
            "Instant::now",
            "now_utc",
            "crate::store",
            "crate::web",
            "crate::cli",
        ],
        why: "brewday knows no SQL, no HTTP and no clock: now is an argument",
    },
    Rule {
        room: "src/store",
        never: &["axum", "askama", "<html", "<div", "crate::web", "crate::cli"],
        why: "store knows no HTTP and no HTML",
    },
    Rule {
        room: "src/demo",
        never: &["sqlx", "axum", "askama", "SystemTime", "Instant::now", "now_utc", "crate::web", "crate::cli"],
        why: "the demo goes through the store's own doors, and now is an argument",
    },
    Rule {
        room: "src/web",
        never: &["sqlx", "query!(", "query_as!(", "crate::cli"],
        why: "web asks the store; SQL lives there alone",
    },
];

#[test]
fn one_clock_hangs_on_the_wall() {
    for file in files(&home().join("src/web"), "rs") {
        let asks = fs::read_to_string(&file).expect("a source file").contains("now_utc");
        assert_eq!(asks, file.ends_with("wall.rs"), "{}: time is asked of App::now", file.display());
    }
}

fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap_or_else(|why| panic!("{} can be read: {why}", folder.display())) {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(files(&path, ending));
        } else if path.extension().is_some_and(|have| have == ending) {
            found.push(path);
        }
    }
    found
}

fn home() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Lines of a text that hold a word as a whole: `serde` is not in `observed`.
fn lines_with(text: &str, word: &str) -> Vec<usize> {
    let edge = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric() && c != '_');
    let word_ends = word.ends_with(|c: char| c.is_alphanumeric() || c == '_');
    let holds = |line: &str| {
        line.match_indices(word).any(|(at, _)| {
            edge(line[..at].chars().next_back()) && (!word_ends || edge(line[at + word.len()..].chars().next()))
        })
    };
    text.lines().enumerate().filter(|(_, line)| holds(line)).map(|(index, _)| index + 1).collect()
}

#[test]
fn no_room_uses_what_it_may_not() {
    let mut breaches = Vec::new();
    for rule in RULES {
        let files = files(&home().join(rule.room), "rs");
        assert!(!files.is_empty(), "{} has files, or the rule guards nothing", rule.room);
        for file in files {
            let text = fs::read_to_string(&file).expect("source is text");
            for word in rule.never {
                for line in lines_with(&text, word) {
                    let file = file.strip_prefix(home()).expect("inside the house").display();
                    breaches.push(format!("{file}:{line} uses `{word}`: {}", rule.why));
                }
            }
        }
    }
    assert!(breaches.is_empty(), "{} breaches:\n{}", breaches.len(), breaches.join("\n"));
}

#[test]
fn templates_hold_no_arithmetic() {
    let mut breaches = Vec::new();
    for file in files(&home().join("templates"), "html") {
        let text = fs::read_to_string(&file).expect("a template is text");
        for (index, line) in text.lines().enumerate() {
            let inside = line.split("{{").skip(1).filter_map(|rest| rest.split_once("}}"));
            for (expression, _) in inside {
                // A minus may stand in a word or a filter's argument; the others only calculate.
                if ["*", " / ", " + ", " - ", " % "].iter().any(|sign| expression.contains(sign)) {
                    let file = file.strip_prefix(home()).expect("inside the house").display();
                    breaches.push(format!("{file}:{}: {{{{{expression}}}}}", index + 1));
                }
            }
        }
    }
    assert!(breaches.is_empty(), "arithmetic belongs in the page's struct:\n{}", breaches.join("\n"));
}

#[test]
fn nothing_unexpected_stands_at_the_top_of_the_house() {
    const EXPECTED: &[&str] = &[
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "build.rs",
        "src",
        "templates",
        "static",
        "migrations",
        "tests",
        "target",
    ];
    let strangers: Vec<String> = fs::read_dir(home())
        .expect("the house can be read")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .filter(|name| !name.starts_with('.') && !EXPECTED.contains(&name.as_str()))
        .collect();
    assert!(strangers.is_empty(), "these have no place at the top: {strangers:?}");
}

#[test]
fn a_word_is_found_whole_only() {
    assert_eq!(lines_with("use serde::Serialize;", "serde"), [1]);
    assert_eq!(lines_with("as was observed\nserde_json", "serde"), Vec::<usize>::new());
    assert_eq!(lines_with("query!(", "query!("), [1]);
}
