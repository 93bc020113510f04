//! Every source cited is in the bibliography, and every source there is cited.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use gylebook::science::bibliography::{self, BIBLIOGRAPHY};
use gylebook::science::glossary;

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|ext| ext == "rs") {
            files.push(path);
        }
    }
    files
}

/// The tags in square brackets on comment lines: `[Kell-1975]`,
/// `[SI-2019, NIST-SP811]`, `[GUM-2008, 5.1]`. A tag starts with a capital and
/// has a hyphen in it.
fn cited(text: &str) -> BTreeSet<String> {
    let comments = text.lines().filter_map(|line| line.split_once("//").map(|(_, rest)| rest));
    let mut tags = BTreeSet::new();
    for comment in comments {
        for bracket in comment.split('[').skip(1) {
            let Some((inside, _)) = bracket.split_once(']') else {
                continue;
            };
            for part in inside.split([',', ';']).map(str::trim) {
                let plain = part.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
                if plain && part.contains('-') && part.starts_with(|c: char| c.is_ascii_uppercase()) {
                    tags.insert(part.to_owned());
                }
            }
        }
    }
    tags
}

fn all_cited(folder: &str) -> BTreeSet<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    rust_files(&root).iter().flat_map(|file| cited(&std::fs::read_to_string(file).unwrap())).collect()
}

#[test]
fn every_tag_is_in_the_bibliography() {
    for folder in ["src/science", "tests/published"] {
        let unknown: Vec<_> = all_cited(folder).into_iter().filter(|tag| bibliography::source(tag).is_none()).collect();
        assert!(unknown.is_empty(), "cited in {folder} but not in the bibliography: {unknown:?}");
    }
}

#[test]
fn tags_are_written_with_a_hyphen() {
    // Without one the documentation takes the tag for a link to an item.
    let bare = |part: &str| {
        let name = part.trim_end_matches(|c: char| c.is_ascii_digit());
        part.len() - name.len() == 4 && !name.is_empty() && name.chars().all(char::is_alphabetic)
    };
    for file in rust_files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/science")) {
        let text = std::fs::read_to_string(&file).unwrap();
        for comment in text.lines().filter_map(|line| line.split_once("//")).map(|(_, comment)| comment) {
            for (inside, _) in comment.split('[').skip(1).filter_map(|rest| rest.split_once(']')) {
                let found = inside.split([',', ';']).map(str::trim).find(|part| bare(part));
                assert_eq!(found, None, "{}", file.display());
            }
        }
    }
}

#[test]
fn every_source_is_cited() {
    let mut used = all_cited("src/science");
    used.extend(glossary::figures().flat_map(|f| f.sources).map(|tag| (*tag).to_owned()));
    for source in BIBLIOGRAPHY {
        assert!(used.contains(source.tag), "nothing rests on {}", source.tag);
    }
}

#[test]
fn tags_stand_in_order_and_none_twice() {
    assert!(BIBLIOGRAPHY.is_sorted_by_key(|source| source.tag.to_lowercase()));
    let tags: BTreeSet<_> = BIBLIOGRAPHY.iter().map(|source| source.tag).collect();
    assert_eq!(tags.len(), BIBLIOGRAPHY.len());
}

#[test]
fn tags_are_found_where_they_are_written() {
    let text = "/// by mass [Kell-1975], twice [SI-2019, NIST-SP811] and [GUM-2008, 5.1]\nlet x = a[B-1];";
    let found: Vec<_> = cited(text).into_iter().collect();
    assert_eq!(found, ["GUM-2008", "Kell-1975", "NIST-SP811", "SI-2019"]);
}
