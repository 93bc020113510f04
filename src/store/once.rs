//! A form that is sent twice makes one thing.
//!
//! A second tap, or a phone that never got its answer, sends the very same form
//! again. What it made the first time is noted in the transaction that made it,
//! so the second finds it there, however close behind it comes, and is answered
//! as the first was. Entries need none of this: they bring ids of their own.

use sha2::{Digest, Sha256};
use sqlx::SqliteConnection;

use super::{Result, Store, seal};

/// What one filled-in form is known by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FormMark([u8; seal::BYTES]);

impl FormMark {
    /// The mark of a form by the key it was shown with, where it goes, and all
    /// that is in it: one that was gone back to and changed is another.
    #[must_use]
    pub fn of(key: &str, address: &str, fields: &[u8]) -> Self {
        let mut hash = Sha256::new();
        for part in [key.as_bytes(), address.as_bytes(), fields] {
            // The length first, so that no two forms read the same.
            hash.update((part.len() as u64).to_le_bytes());
            hash.update(part);
        }
        Self(hash.finalize().into())
    }

    /// In hexadecimal digits, to be sealed.
    pub(super) fn hex(&self) -> String {
        seal::hex(&self.0)
    }

    /// An id for what it makes, where that has no number.
    pub(super) fn id(&self) -> uuid::Uuid {
        uuid::Uuid::new_v5(&uuid::Uuid::NAMESPACE_OID, &self.0)
    }
}

impl Store {
    /// The same book for the one thing that a form makes; with no mark it is
    /// made every time.
    #[must_use]
    pub fn once(&self, mark: Option<FormMark>) -> Self {
        Self(self.0.clone(), mark)
    }

    /// What the form made before.
    pub(super) async fn made_before(&self, change: &mut SqliteConnection) -> Result<Option<i64>> {
        let Some(FormMark(hash)) = &self.1 else { return Ok(None) };
        let hash = hash.as_slice();
        Ok(sqlx::query_scalar!("select made from made_once where form_hash = ?", hash).fetch_optional(change).await?)
    }

    /// Notes what the form made, to be committed with it.
    pub(super) async fn note_made(&self, change: &mut SqliteConnection, made: i64, now_ms: i64) -> Result<()> {
        let Some(FormMark(hash)) = &self.1 else { return Ok(()) };
        let hash = hash.as_slice();
        sqlx::query!("insert into made_once (form_hash, made, made_ms) values (?, ?, ?)", hash, made, now_ms)
            .execute(change)
            .await?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::testing::{NOON, book, recipe};

    #[test]
    fn another_key_place_or_word_is_another_form() {
        let mark = FormMark::of("k", "/recipes", b"name=a");
        assert_eq!(mark, FormMark::of("k", "/recipes", b"name=a"));
        for other in [
            FormMark::of("l", "/recipes", b"name=a"),
            FormMark::of("k", "/recipe", b"sname=a"),
            FormMark::of("k/", "recipes", b"name=a"),
            FormMark::of("k", "/recipes", b"name=b"),
        ] {
            assert_ne!(mark, other);
        }
    }

    #[tokio::test]
    async fn a_form_makes_one_thing_and_is_answered_the_same_even_once_reopened() {
        let book = book().await;
        let mark = Some(FormMark::of("k", "/recipes", b""));
        let first = book.store.once(mark).add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let path = book.store.path().to_owned();
        book.store.close().await;
        let again = Store::open(path).await.unwrap();
        assert_eq!(again.once(mark).add_recipe(&recipe("Pale"), NOON).await.unwrap(), first);
        assert_eq!(again.recipes("", false).await.unwrap().len(), 1);
        let other = again.once(Some(FormMark::of("l", "/recipes", b""))).add_recipe(&recipe("Pale"), NOON).await;
        assert_ne!(other.unwrap(), first);
    }
}
