//! What phones ask for, page by page, and what is expected of each.

use std::net::SocketAddr;

use serde_json::json;
use uuid::Uuid;

use super::book::Shape;
use super::client::Ask;
use super::load::Check;

/// A page, or a family of alike ones, and its goals.
#[derive(Clone, Debug)]
pub(crate) struct Asked {
    pub(crate) name: &'static str,
    pub(crate) paths: Vec<String>,
    pub(crate) check: Check,
    /// At least this share of the bare handler that reads one row.
    pub(crate) of_row: Option<f64>,
}

/// Every page that is measured. `live` is the batch under way.
pub(crate) fn pages(shape: Shape, live: i64) -> Vec<Asked> {
    let batches = i64::from(shape.batches);
    let page = |name, paths, of_row| Asked { name, paths, check: Check::Same, of_row };
    let mut all = vec![
        page("batch under way", vec![format!("/batches/{live}")], Some(0.6)),
        Asked {
            check: Check::Holds("Under way".into()),
            ..page("chill page", vec![format!("/batches/{live}/chill")], None)
        },
        page("ledger", (0..4.min(1 + batches / 25)).map(|page| format!("/?page={page}")).collect(), Some(0.3)),
        page("summary JSON", vec![format!("/api/v1/batches/{live}")], None),
    ];
    if batches > 0 {
        let any = |turn: i64| 1 + turn * 7919 % batches;
        all.push(page("any batch", (0..500).map(|turn| format!("/batches/{}", any(turn))).collect(), None));
        for (name, many, of_row) in [("compare 2", 2, None), ("compare 10", 10, Some(0.3)), ("compare 50", 50, None)] {
            let of = |set: i64| (0..many).map(|turn| format!("batch={}", any(set * many + turn))).collect::<Vec<_>>();
            if many <= batches {
                all.push(page(name, (0..6).map(|set| format!("/compare?{}", of(set).join("&"))).collect(), of_row));
            }
        }
    }
    all
}

/// What an answer says when what was posted was not in the log before.
pub(crate) const NONE_HELD: &str = r#""held":[],"refused":[]"#;

/// One more reading of the wort, as a probe posts it.
pub(crate) fn reading(server: SocketAddr, batch: i64) -> Ask {
    let entry =
        json!({"id": Uuid::new_v4(), "at": now(), "kind": "temperature", "place": "wort", "temperature_c": 41.5});
    Ask::post_json(server, &format!("/api/v1/batches/{batch}/entries"), &json!({"entries": [entry]}).to_string())
}

/// A remark that was in no log before.
pub(crate) fn remark(server: SocketAddr, batch: i64, words: &str) -> Ask {
    let entry = json!({"id": Uuid::new_v4(), "at": now(), "kind": "note", "note": words});
    Ask::post_json(server, &format!("/api/v1/batches/{batch}/entries"), &json!({"entries": [entry]}).to_string())
}

/// The bare commit's body: as large as a reading.
pub(crate) fn commit(server: SocketAddr) -> Ask {
    Ask::post_json(server, "/commit", &json!({"id": Uuid::new_v4(), "at": now(), "kind": "temperature"}).to_string())
}

fn now() -> String {
    let now = time::OffsetDateTime::now_utc();
    now.format(&time::format_description::well_known::Rfc3339).expect("a time")
}
