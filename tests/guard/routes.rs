//! Every address there is: the pages' as the source declares them, the
//! interface's as it describes itself.

use std::{
    collections::BTreeSet,
    fs,
    path::{Path, PathBuf},
};

use crate::house::{House, Knock};

/// Every route with its methods, each place in it filled with 1.
pub(crate) async fn all(house: &House) -> BTreeSet<(String, &'static str)> {
    let mut found = BTreeSet::new();
    for file in files(&PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("src/web")) {
        if file.ends_with("src/web/tests.rs") {
            continue;
        }
        let text = fs::read_to_string(&file).expect("source is text");
        for declared in text.split(".route(").skip(1) {
            let Some((path, handlers)) = declared.split_once(',') else { continue };
            let path = filled(path.trim().trim_matches('"'));
            let handlers = handlers.split(".route(").next().unwrap_or_default();
            for (word, method) in [("get(", "GET"), ("post(", "POST"), ("put(", "PUT"), ("delete(", "DELETE")] {
                if handlers.contains(word) {
                    found.insert((path.clone(), method));
                }
            }
        }
    }
    let described = house.get(&Knock::owner(), "/api/v1/openapi.json").await.text;
    let described: serde_json::Value = serde_json::from_str(&described).expect("a description");
    for (path, methods) in described["paths"].as_object().expect("paths") {
        for (word, method) in [("get", "GET"), ("post", "POST"), ("put", "PUT"), ("delete", "DELETE")] {
            if methods.get(word).is_some() {
                found.insert((filled(path), method));
            }
        }
    }
    assert!(found.len() > 60, "there are more routes than {found:?}");
    found
}

fn filled(path: &str) -> String {
    path.split('/').map(|part| if part.starts_with('{') { "1" } else { part }).collect::<Vec<_>>().join("/")
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(files(&path));
        } else if path.extension().is_some_and(|have| have == "rs") {
            found.push(path);
        }
    }
    found
}
