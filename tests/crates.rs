//! What is built in may be: `.deny.toml` asked of every crate in `Cargo.lock`.
//!
//! `cargo deny` asks the same and more (advisories, where its data base can be
//! had); this part needs nothing but cargo, so it is in the gate.

use std::process::Command;

use serde_json::Value;

/// Every crate that is built in, on any platform that was fetched for.
fn crates() -> Vec<Value> {
    let mut cargo = Command::new(env!("CARGO"));
    cargo.args(["metadata", "--offline", "--locked", "--format-version", "1"]);
    cargo.args(["--filter-platform", "x86_64-unknown-linux-gnu"]).current_dir(env!("CARGO_MANIFEST_DIR"));
    let told = cargo.output().expect("cargo");
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    let mut told: Value = serde_json::from_slice(&told.stdout).expect("JSON");
    let used: Vec<Value> =
        told["resolve"]["nodes"].as_array().expect("a list").iter().map(|node| node["id"].clone()).collect();
    let Value::Array(crates) = told["packages"].take() else { panic!("a list") };
    crates.into_iter().filter(|one| used.contains(&one["id"])).collect()
}

fn text<'a>(one: &'a Value, name: &str) -> &'a str {
    one[name].as_str().unwrap_or_default()
}

/// The quoted words of one list in `.deny.toml`.
fn named(list: &str) -> Vec<&'static str> {
    let all = include_str!("../.deny.toml").split_once(list).expect("the list is there").1;
    let all = all.split_once("\n]").expect("the list ends").0;
    let lines = all.lines().map(|line| line.split('#').next().unwrap_or_default());
    lines.filter_map(|line| line.split('"').nth(1)).collect()
}

/// Whether an SPDX expression [SPDX 2.3, annex D] can be met with these licences.
fn is_met(expression: &str, allowed: &[&str]) -> bool {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let (met, rest) = any_of(&words, allowed);
    assert!(rest.is_empty(), "{expression}");
    met
}

fn any_of<'a, 'w>(words: &'w [&'a str], allowed: &[&str]) -> (bool, &'w [&'a str]) {
    let (mut met, mut rest) = all_of(words, allowed);
    while let Some(("OR", after)) = rest.split_first().map(|(word, after)| (*word, after)) {
        let (also, after) = all_of(after, allowed);
        (met, rest) = (met || also, after);
    }
    (met, rest)
}

fn all_of<'a, 'w>(words: &'w [&'a str], allowed: &[&str]) -> (bool, &'w [&'a str]) {
    let (mut met, mut rest) = one(words, allowed);
    while let Some(("AND", after)) = rest.split_first().map(|(word, after)| (*word, after)) {
        let (also, after) = one(after, allowed);
        (met, rest) = (met && also, after);
    }
    (met, rest)
}

fn one<'a, 'w>(words: &'w [&'a str], allowed: &[&str]) -> (bool, &'w [&'a str]) {
    match words {
        ["(", rest @ ..] => {
            let (met, rest) = any_of(rest, allowed);
            (met, rest.strip_prefix(&[")"]).expect("it is closed"))
        }
        [name, "WITH", exception, rest @ ..] => (allowed.contains(&format!("{name} WITH {exception}").as_str()), rest),
        [name, rest @ ..] => (allowed.contains(name), rest),
        [] => (false, words),
    }
}

#[test]
fn an_expression_is_met_by_one_of_its_ors_and_all_of_its_ands() {
    let allowed = ["MIT", "Zlib", "Apache-2.0 WITH LLVM-exception"];
    for (expression, met) in [
        ("MIT", true),
        ("GPL-3.0", false),
        ("GPL-3.0 OR MIT", true),
        ("GPL-3.0 AND MIT", false),
        ("(GPL-3.0 OR MIT) AND Zlib", true),
        ("(GPL-3.0 OR MIT) AND ISC", false),
        ("GPL-3.0/MIT", true),
        ("Apache-2.0 WITH LLVM-exception OR ISC", true),
        ("Apache-2.0", false),
        ("", false),
    ] {
        assert_eq!(is_met(expression, &allowed), met, "{expression}");
    }
}

#[test]
fn every_crate_may_be_given_away_and_comes_from_the_one_registry() {
    let (allowed, banned) = (named("allow = ["), named("deny = ["));
    assert!(allowed.len() > 5 && banned.len() == 3, "{allowed:?} {banned:?}");
    let crates = crates();
    assert!(crates.len() > 200, "{}", crates.len());
    // Ours have no source.
    for one in crates.iter().filter(|one| !one["source"].is_null()) {
        let (name, source) = (text(one, "name"), text(one, "source"));
        assert!(is_met(text(one, "license"), &allowed), "{name}: {}", one["license"]);
        assert!(!banned.contains(&name), "{name}");
        assert!(source.starts_with("registry+") && source.ends_with("/crates.io-index"), "{name}: {source}");
    }
}

/// Before 3.51.3 a commit could be lost around a WAL reset. The version is looked at when a book is
/// opened, too; here it is the lock file that can't fall back unseen.
#[test]
fn one_sqlite_is_built_in_and_it_is_new_enough() {
    let crates = crates();
    let sqlite: Vec<_> = crates.iter().filter(|one| one["links"] == "sqlite3").collect();
    let [sqlite] = sqlite.as_slice() else { panic!("{sqlite:?}") };
    let header = std::path::Path::new(text(sqlite, "manifest_path")).with_file_name("sqlite3/sqlite3.h");
    let header = std::fs::read_to_string(header).expect("SQLite's own header");
    let number = header.split_once("#define SQLITE_VERSION_NUMBER ").expect("its number").1;
    let number: u32 = number.lines().next().unwrap_or_default().trim().parse().expect("a number");
    assert!(number >= 3_051_003, "{number}");
}
