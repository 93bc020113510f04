//! The door: the one way in that is open just now, and who comes through it.
//!
//! A one-time link of 128 random bits needs no limit on tries. A code of six
//! digits does: five wrong ones burn it, ten in a row hold up every code for a
//! while, and both counts are in the file, so that a restart forgives nothing.
//! Neither touches the link, the machine itself or a device already let in:
//! whoever tries codes locks out nobody but who tries codes.

use time::{Duration, OffsetDateTime};

use super::devices::{DeviceKind, add, forget_ended};
use super::{Result, Store, StoreError, from_ms, seal, to_ms};

/// How long a way in stays open.
pub const OPEN_FOR: Duration = Duration::minutes(10);
/// Wrong codes that burn a code.
pub const TRIES: i64 = 5;
/// Wrong codes in a row, over several windows, that hold up every code …
const HOLD_AFTER: i64 = 10;
/// … for so long.
const HOLD_FOR: Duration = Duration::minutes(5);
/// Bytes of a one-time link.
const LINK_BYTES: usize = 16;

/// A way in, as it is told once to whoever opened it.
#[derive(Clone, Debug)]
pub struct Invitation {
    /// What stands after `/pair/` in the one-time link.
    pub link: String,
    /// Six digits to type in, where some were asked for.
    pub code: Option<String>,
    /// When it closes.
    pub closes_at: OffsetDateTime,
}

/// The way in that is open, as anybody in the book may know it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OpenDoor {
    /// When it was opened: tells one from the next.
    pub opened_at: OffsetDateTime,
    /// When it closes.
    pub closes_at: OffsetDateTime,
    /// Codes that may still be tried; none once the code is burnt, or where there was none.
    pub tries_left: i64,
}

/// How a device comes in.
#[derive(Clone, Copy, Debug)]
pub enum Way<'a> {
    /// By what stands after `/pair/`.
    Link(&'a str),
    /// By six digits.
    Code(&'a str),
}

/// Why a device was not let in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotLetIn {
    /// Nothing is open, or not this link.
    Closed,
    /// Another code; so many tries are left.
    Wrong(i64),
    /// Too many wrong codes in a row: none is looked at before this time.
    Held(OffsetDateTime),
}

struct Row {
    link_hash: Vec<u8>,
    code_seal: Option<Vec<u8>>,
    opened_ms: i64,
    tries_left: i64,
}

impl Store {
    /// Opens a way in, by link and perhaps by code; the one before is closed.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn invite(&self, with_code: bool, now: OffsetDateTime) -> Result<Invitation> {
        let link = seal::token::<LINK_BYTES>()?;
        let code = with_code.then(seal::code).transpose()?;
        let (opened_ms, closes_ms) = (to_ms(now), to_ms(now + OPEN_FOR));
        let link_hash = seal::hash(&link);
        let code_seal = code.as_deref().map(|code| self.seal_of(opened_ms, code));
        let tries = if with_code { TRIES } else { 0 };
        let mut change = self.begin().await?;
        sqlx::query!(
            "
            insert or replace into invitation (invitation_id, link_hash, code_seal, opened_ms, closes_ms, tries_left)
            values (1, ?, ?, ?, ?, ?)
            ",
            link_hash,
            code_seal,
            opened_ms,
            closes_ms,
            tries,
        )
        .execute(&mut *change)
        .await?;
        change.commit().await?;
        Ok(Invitation { link, code, closes_at: from_ms(closes_ms)? })
    }

    /// Closes the way in, where one is open.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn close_door(&self) -> Result<()> {
        let mut change = self.begin().await?;
        sqlx::query!("delete from invitation").execute(&mut *change).await?;
        change.commit().await
    }

    /// The way in that is open now.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn open_door(&self, now: OffsetDateTime) -> Result<Option<OpenDoor>> {
        let row = sqlx::query!("select opened_ms, closes_ms, tries_left from invitation")
            .fetch_optional(&self.0.readers)
            .await?;
        let Some(row) = row.filter(|row| to_ms(now) < row.closes_ms) else { return Ok(None) };
        let (opened_at, closes_at) = (from_ms(row.opened_ms)?, from_ms(row.closes_ms)?);
        Ok(Some(OpenDoor { opened_at, closes_at, tries_left: row.tries_left }))
    }

    /// Whether a one-time link is the one that is open; it stays so.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn is_invited(&self, link: &str, now: OffsetDateTime) -> Result<bool> {
        let row = sqlx::query!("select link_hash, closes_ms from invitation").fetch_optional(&self.0.readers).await?;
        Ok(row.is_some_and(|row| to_ms(now) < row.closes_ms && row.link_hash == seal::hash(link)))
    }

    /// Lets a device in and gives what it proves itself with from now on; the way
    /// in is used up by it.
    ///
    /// # Errors
    /// The data file can't be written; then nobody was let in.
    pub async fn let_in(
        &self,
        way: Way<'_>,
        name: &str,
        now: OffsetDateTime,
    ) -> Result<std::result::Result<String, NotLetIn>> {
        let token = self.device_token()?;
        let mut change = self.begin().await?;
        // Its answer was lost, or its button tapped twice: it is in already.
        if self.made_before(&mut change).await?.is_some() {
            return Ok(Ok(token));
        }
        let door = sqlx::query!("select wrong_in_a_row, held_until_ms from door").fetch_one(&mut *change).await?;
        if matches!(way, Way::Code(_)) && to_ms(now) < door.held_until_ms {
            return Ok(Err(NotLetIn::Held(from_ms(door.held_until_ms)?)));
        }
        let now_ms = to_ms(now);
        let open = sqlx::query_as!(
            Row,
            "select link_hash, code_seal, opened_ms, tries_left from invitation where closes_ms > ?",
            now_ms,
        )
        .fetch_optional(&mut *change)
        .await?;
        let Some(open) = open else { return Ok(Err(NotLetIn::Closed)) };
        let right = match (way, &open.code_seal) {
            (Way::Link(link), _) if open.link_hash == seal::hash(link) => true,
            (Way::Link(_), _) | (Way::Code(_), None) => return Ok(Err(NotLetIn::Closed)),
            (Way::Code(code), Some(sealed)) => {
                seal::is_sealed(self.0.key(), &["code", &open.opened_ms.to_string(), code], sealed)
            }
        };
        if !right {
            let (left, in_a_row) = (open.tries_left - 1, door.wrong_in_a_row + 1);
            let refused = count_wrong(&mut change, left, in_a_row, now).await?;
            change.commit().await?;
            return Ok(Err(refused));
        }
        sqlx::query!("delete from invitation").execute(&mut *change).await?;
        sqlx::query!("update door set wrong_in_a_row = 0").execute(&mut *change).await?;
        forget_ended(&mut change, now).await?;
        let device = add(&mut change, DeviceKind::Person, name, &token, now).await?;
        self.note_made(&mut change, device, now_ms).await?;
        change.commit().await?;
        Ok(Ok(token))
    }

    /// Where a running server can be reached by other devices; `None` while none can.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn address(&self) -> Result<Option<String>> {
        let address = sqlx::query_scalar!("select address from door").fetch_optional(&self.0.readers).await?;
        Ok(address.flatten())
    }

    /// Notes where this server can be reached by other devices.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn set_address(&self, address: Option<&str>) -> Result<()> {
        let mut change = self.begin().await?;
        sqlx::query!("update door set address = ?", address).execute(&mut *change).await?;
        change.commit().await
    }

    /// The token that a form carries for whoever it was made for.
    #[must_use]
    pub fn form_token(&self, made_for: &str) -> String {
        self.seal_on(&["form", made_for])
    }

    /// Whether a form's token was made for this one.
    #[must_use]
    pub fn is_form_token(&self, made_for: &str, token: &str) -> bool {
        seal::unhex(token).is_some_and(|token| seal::is_sealed(self.0.key(), &["form", made_for], &token))
    }

    /// Reads the book's own key, or makes it where this is the first time.
    pub(super) async fn take_key(&self) -> Result<()> {
        let mut change = self.begin().await?;
        let known = sqlx::query_scalar!("select seal_key from door").fetch_optional(&mut *change).await?;
        let key = match known {
            Some(known) => known.try_into().map_err(|_| unreadable("it has another length"))?,
            None => {
                let key: seal::Key = seal::random()?;
                let bytes = key.as_slice();
                sqlx::query!("insert into door (door_id, seal_key) values (1, ?)", bytes).execute(&mut *change).await?;
                key
            }
        };
        change.commit().await?;
        self.0.key.set(key).map_err(|_| unreadable("it was read before"))
    }

    /// The book's seal on some words, in hexadecimal digits.
    pub(super) fn seal_on(&self, words: &[&str]) -> String {
        seal::hex(&seal::seal(self.0.key(), words))
    }

    fn seal_of(&self, opened_ms: i64, code: &str) -> Vec<u8> {
        seal::seal(self.0.key(), &["code", &opened_ms.to_string(), code])
    }
}

impl super::Inner {
    /// The book's own key, which every book that is opened to be written has.
    fn key(&self) -> &seal::Key {
        self.key.get().expect("the key is taken when the book is opened")
    }
}

/// Writes down a wrong code, and says what is left.
async fn count_wrong(
    change: &mut sqlx::SqliteConnection,
    left: i64,
    in_a_row: i64,
    now: OffsetDateTime,
) -> Result<NotLetIn> {
    sqlx::query!("update invitation set tries_left = ?1, code_seal = iif(?1 > 0, code_seal, null)", left)
        .execute(&mut *change)
        .await?;
    if in_a_row < HOLD_AFTER {
        sqlx::query!("update door set wrong_in_a_row = ?", in_a_row).execute(change).await?;
        return Ok(NotLetIn::Wrong(left));
    }
    let until = now + HOLD_FOR;
    let until_ms = to_ms(until);
    sqlx::query!("update door set wrong_in_a_row = 0, held_until_ms = ?", until_ms).execute(change).await?;
    Ok(NotLetIn::Held(until))
}

fn unreadable(why: &str) -> StoreError {
    StoreError::Unreadable { what: "the key", why: why.to_owned() }
}
