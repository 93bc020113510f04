//! The routes the source declares.

use std::fs;
use std::path::{Path, PathBuf};

/// Every page that is answered to GET, as its route is written.
pub(super) fn get_routes() -> Vec<String> {
    let mut found = Vec::new();
    for file in files(&home().join("src/web"), "rs") {
        // The guards' own tests have routes of their own.
        if file.ends_with("src/web/tests.rs") {
            continue;
        }
        let text = fs::read_to_string(&file).expect("source is text");
        for declared in text.split(".route(").skip(1) {
            let (path, method) = declared.split_once(',').expect("a path and a method");
            let path = path.trim();
            let Some(path) = path.strip_prefix('"').and_then(|path| path.strip_suffix('"')) else {
                panic!("{}: a route is named where it is declared, not {path}", file.display());
            };
            if balanced(method).contains("get(") {
                found.push(path.to_owned());
            }
        }
    }
    found.sort();
    assert!(found.len() > 25, "the source declares more routes than {found:?}");
    found
}

/// What stands before the parenthesis that closes the route.
fn balanced(text: &str) -> &str {
    let mut depth = 0;
    for (at, letter) in text.char_indices() {
        match letter {
            '(' => depth += 1,
            ')' if depth == 0 => return &text[..at],
            ')' => depth -= 1,
            _ => {}
        }
    }
    text
}

pub(super) fn home() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

pub(super) fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
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

#[test]
fn a_route_is_found_with_its_methods() {
    assert_eq!(balanced(" get(show).post(create)) .route(\"/other\", get(x))"), " get(show).post(create)");
    let routes = get_routes();
    for path in ["/", "/batches/{id}/{stage}", "/compare/curves.csv", "/equipment/{id}/care/{entry}"] {
        assert!(routes.iter().any(|route| route == path), "{path}");
    }
    assert!(!routes.iter().any(|route| route == "/recipes/preview"), "that is only posted to");
}
