//! The append, and what reading gives back of it.

use time::Duration;

use super::*;
use crate::store::testing::{NOON, entry, started};

const NOTE: &str = r#"{"kind": "note", "note": "Smells of bread"}"#;

fn id(number: u128) -> Uuid {
    Uuid::from_u128(number)
}

#[tokio::test]
async fn what_is_read_back_is_what_was_sent() {
    let (book, batch) = started().await;
    let mut sent = entry(
        1,
        r#"{"kind": "temperature", "place": "wort", "temperature_c": 66.7, "note": "rim",
        "typed": {"temperature_c": "152 °F"}}"#,
    );
    sent.at = NOON - Duration::milliseconds(1);
    let later = NOON + Duration::milliseconds(250);
    book.store.append(Some(batch), vec![sent.clone()], Some("Kettle phone"), later).await.unwrap();
    let logged = book.store.entries(batch, 0).await.unwrap();
    let wanted = LoggedEntry { seq: 1, received_at: later, device: Some("Kettle phone".into()), entry: sent };
    assert_eq!(logged, std::slice::from_ref(&wanted));
    let found = book.store.find_entry(id(1)).await.unwrap().unwrap();
    assert_eq!((found.batch, found.logged), (Some(batch), wanted));
    assert!(book.store.entries(batch, 1).await.unwrap().is_empty());
}

#[tokio::test]
async fn an_id_seen_before_is_held_in_whichever_log_it_was_seen() {
    let (book, batch) = started().await;
    let twice = vec![entry(1, NOTE), entry(1, NOTE), entry(2, NOTE)];
    let receipt = book.store.append(Some(batch), twice, None, NOON).await.unwrap().unwrap();
    assert_eq!((receipt.accepted, receipt.held), (vec![id(1), id(2)], vec![id(1)]));
    let receipt = book.store.append(None, vec![entry(2, NOTE)], None, NOON).await.unwrap().unwrap();
    assert_eq!((receipt.accepted, receipt.held), (vec![], vec![id(2)]));
    assert_eq!(book.store.entries(batch, 0).await.unwrap().len(), 2);
    assert_eq!(book.store.append(Some(99), vec![entry(3, NOTE)], None, NOON).await.unwrap(), None);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_entries_sent_at_once_are_kept_once() {
    let (book, batch) = started().await;
    let many = (0..16).map(|_| {
        let store = book.store.clone();
        let entries = vec![entry(1, NOTE), entry(2, NOTE)];
        tokio::spawn(async move { store.append(Some(batch), entries, None, NOON).await.unwrap().unwrap() })
    });
    let mut accepted = 0;
    for sending in many.collect::<Vec<_>>() {
        let receipt = sending.await.unwrap();
        accepted += receipt.accepted.len();
        assert_eq!(receipt.accepted.len() + receipt.held.len(), 2);
    }
    assert_eq!(accepted, 2);
    assert_eq!(book.store.entries(batch, 0).await.unwrap().len(), 2);
}

#[tokio::test]
async fn the_log_can_be_neither_changed_nor_cut() {
    let (book, batch) = started().await;
    book.store.append(Some(batch), vec![entry(1, NOTE)], None, NOON).await.unwrap();
    for change in ["update entry set at_ms = 0", "delete from entry", "replace into entry select * from entry"] {
        let refused = sqlx::query(change).execute(&book.store.0.writer).await.unwrap_err().to_string();
        assert!(refused.contains("the log is append-only"), "{change}: {refused}");
    }
}

#[tokio::test]
async fn what_an_entry_is_about_has_to_be_there() {
    let (book, batch) = started().await;
    let entries = vec![
        entry(1, r#"{"kind": "care", "equipment": 5, "act": "drained"}"#),
        entry(2, &format!(r#"{{"kind": "amendment", "of": "{}", "void": true}}"#, id(9))),
        entry(3, NOTE),
    ];
    let receipt = book.store.append(Some(batch), entries, None, NOON).await.unwrap().unwrap();
    let refused: Vec<_> = receipt.refused.iter().map(|(id, fault)| (*id, fault.field.as_str())).collect();
    assert_eq!(refused, [(id(1), "equipment"), (id(2), "of")]);
    assert_eq!(receipt.accepted, [id(3)]);
    // An entry of another log can't be amended from here.
    let amend = entry(4, &format!(r#"{{"kind": "amendment", "of": "{}", "void": true}}"#, id(3)));
    let receipt = book.store.append(None, vec![amend], None, NOON).await.unwrap().unwrap();
    assert_eq!(receipt.refused[0].1.field, "of");
}

#[tokio::test]
async fn the_house_keeps_care_and_notes_only() {
    let (book, _) = started().await;
    let entries = vec![entry(1, r#"{"kind": "flame_out"}"#), entry(2, NOTE)];
    let receipt = book.store.append(None, entries, None, NOON).await.unwrap().unwrap();
    assert_eq!((receipt.refused[0].1.field.as_str(), receipt.accepted), ("kind", vec![id(2)]));
}

#[tokio::test]
async fn listeners_are_told_once_for_each_append_that_wrote() {
    let (book, batch) = started().await;
    let mut changes = book.store.changes();
    book.store.append(Some(batch), vec![entry(1, NOTE), entry(2, NOTE)], None, NOON).await.unwrap();
    book.store.append(Some(batch), vec![entry(2, NOTE)], None, NOON).await.unwrap();
    book.store.append(None, vec![entry(3, NOTE)], None, NOON).await.unwrap();
    assert_eq!(changes.recv().await.unwrap(), Change { batch: Some(batch), seq: 2 });
    assert_eq!(changes.recv().await.unwrap(), Change { batch: None, seq: 3 });
    assert!(changes.try_recv().is_err());
}

#[tokio::test]
async fn the_day_and_the_summary_know_the_last_entry() {
    let (book, batch) = started().await;
    let store = &book.store;
    for number in 1..=3 {
        store.append(Some(batch), vec![entry(number, NOTE)], None, NOON).await.unwrap();
    }
    let kept = sqlx::query_scalar!("select seq from summary where batch_id = ?", batch);
    assert_eq!(kept.fetch_one(&store.0.readers).await.unwrap(), 3);
    let from_memory = format!("{:?}", store.day(batch).await.unwrap());
    store.0.days.forget(batch);
    assert_eq!(format!("{:?}", store.day(batch).await.unwrap()), from_memory);
}

#[tokio::test]
async fn a_write_that_was_given_up_frees_the_writer_and_leaves_nothing() {
    let (book, batch) = started().await;
    let mut change = book.store.begin().await.unwrap();
    sqlx::query("update batch set name = 'given up'").execute(&mut *change).await.unwrap();
    drop(change);
    let receipt = book.store.append(Some(batch), vec![entry(1, NOTE)], None, NOON).await.unwrap().unwrap();
    assert_eq!(receipt.accepted, [id(1)]);
    assert_eq!(book.store.batch(batch).await.unwrap().unwrap().name, "Pale");
}

#[tokio::test]
async fn an_append_nobody_waits_for_is_seen_through() {
    let (book, batch) = started().await;
    let mut changes = book.store.changes();
    let mut append = Box::pin(book.store.append(Some(batch), vec![entry(1, NOTE)], None, NOON));
    // Begun by the first poll, then dropped.
    assert!(std::future::poll_fn(|context| std::task::Poll::Ready(append.as_mut().poll(context).is_pending())).await);
    drop(append);
    // Only against hanging for ever.
    let told = tokio::time::timeout(std::time::Duration::from_secs(60), changes.recv()).await;
    assert_eq!(told.expect("it was given up").unwrap(), Change { batch: Some(batch), seq: 1 });
    assert_eq!(book.store.entries(batch, 0).await.unwrap().len(), 1);
}
