//! The devices that were let in: phones that do all the pages do, and probes
//! that only post temperatures.

use time::{Duration, OffsetDateTime};
use tokio::sync::watch;

use super::{Result, Store, from_ms, seal, to_ms};

/// A device is let in for so long, then it pairs anew.
pub const LET_IN_FOR: Duration = Duration::days(400);
/// One that nobody uses for so long is let in no more.
pub const IDLE_FOR: Duration = Duration::days(90);
/// The longest name of a device, in characters.
pub const DEVICE_NAME_CHARS: usize = 40;
/// Bytes of what a device proves itself with.
const TOKEN_BYTES: usize = 32;
/// When a device was seen is kept to this.
const SEEN_TO: Duration = Duration::minutes(1);

/// What a device may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DeviceKind {
    /// All that the pages do.
    Person,
    /// Post temperatures, and nothing else.
    Probe,
}

/// A device that was let in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Device {
    /// Its number, never used twice.
    pub id: i64,
    /// What it may do.
    pub kind: DeviceKind,
    /// Its name, which is also written beside what it logs.
    pub name: String,
    /// When it was let in.
    pub paired_at: OffsetDateTime,
    /// When it last asked for something, to the minute.
    pub seen_at: OffsetDateTime,
    /// When it has to pair anew, used or not; never for a probe.
    pub ends_at: Option<OffsetDateTime>,
}

struct Row {
    device_id: i64,
    kind: String,
    name: String,
    paired_ms: i64,
    seen_ms: i64,
    ends_ms: Option<i64>,
}

impl Row {
    fn device(self) -> Result<Device> {
        Ok(Device {
            id: self.device_id,
            kind: if self.kind == "probe" { DeviceKind::Probe } else { DeviceKind::Person },
            name: self.name,
            paired_at: from_ms(self.paired_ms)?,
            seen_at: from_ms(self.seen_ms)?,
            ends_at: self.ends_ms.map(from_ms).transpose()?,
        })
    }
}

impl Device {
    fn is_let_in(&self, now: OffsetDateTime) -> bool {
        let is_idle = self.kind == DeviceKind::Person && now - self.seen_at >= IDLE_FOR;
        !is_idle && self.ends_at.is_none_or(|ends| now < ends)
    }
}

impl Store {
    /// The device that proves itself with this token, while it is let in.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn device_of(&self, token: &str, now: OffsetDateTime) -> Result<Option<Device>> {
        if !seal::is_token(token, TOKEN_BYTES) {
            return Ok(None);
        }
        let hash = seal::hash(token);
        let row = sqlx::query_as!(
            Row,
            "
            select device_id, kind, name, paired_ms, seen_ms, ends_ms
            from device
            where token_hash = ?
            ",
            hash,
        )
        .fetch_optional(&self.0.readers)
        .await?;
        let device = row.map(Row::device).transpose()?;
        Ok(device.filter(|device| device.is_let_in(now)))
    }

    /// Whether a device is still let in.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn is_let_in(&self, device: i64, now: OffsetDateTime) -> Result<bool> {
        Ok(self.devices(now).await?.iter().any(|known| known.id == device))
    }

    /// Every device that is let in, the last seen first.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn devices(&self, now: OffsetDateTime) -> Result<Vec<Device>> {
        let rows = sqlx::query_as!(
            Row,
            "
            select device_id, kind, name, paired_ms, seen_ms, ends_ms
            from device
            order by seen_ms desc, device_id desc
            ",
        )
        .fetch_all(&self.0.readers)
        .await?;
        let devices = rows.into_iter().map(Row::device).collect::<Result<Vec<_>>>()?;
        Ok(devices.into_iter().filter(|device| device.is_let_in(now)).collect())
    }

    /// Notes that a device was seen, where the last time is a minute ago or more.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn seen(&self, device: &Device, now: OffsetDateTime) -> Result<()> {
        if now - device.seen_at < SEEN_TO {
            return Ok(());
        }
        let seen_ms = to_ms(now);
        let mut change = self.begin().await?;
        sqlx::query!("update device set seen_ms = ? where device_id = ?", seen_ms, device.id)
            .execute(&mut *change)
            .await?;
        change.commit().await
    }

    /// Lets a probe in and gives what it proves itself with, which is told in the
    /// answer to the form that made it and nowhere else.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn add_probe(&self, name: &str, now: OffsetDateTime) -> Result<String> {
        let token = self.device_token()?;
        let mut change = self.begin().await?;
        if self.made_before(&mut change).await?.is_none() {
            let id = add(&mut change, DeviceKind::Probe, name, &token, now).await?;
            self.note_made(&mut change, id, to_ms(now)).await?;
            change.commit().await?;
        }
        Ok(token)
    }

    /// What a device is to prove itself with. One that a form makes is the form's
    /// mark under the book's own seal: as hard to guess as a random one, and the
    /// same for the same form, though only its hash is kept.
    pub(super) fn device_token(&self) -> Result<String> {
        match &self.1 {
            Some(mark) => Ok(self.seal_on(&["device", &mark.hex()])),
            None => seal::token::<TOKEN_BYTES>(),
        }
    }

    /// Gives a device another name; what it wrote keeps the old one. False where
    /// there is no such device.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn rename_device(&self, device: i64, name: &str) -> Result<bool> {
        let mut change = self.begin().await?;
        let name = apart(&mut change, name, Some(device)).await?;
        let done =
            sqlx::query!("update device set name = ? where device_id = ?", name, device).execute(&mut *change).await?;
        change.commit().await?;
        Ok(done.rows_affected() > 0)
    }

    /// Ends a device, or all of them: whatever it asks from now on is refused.
    /// Tells how many were ended.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn end_devices(&self, device: Option<i64>) -> Result<u64> {
        let mut change = self.begin().await?;
        let done =
            sqlx::query!("delete from device where ?1 is null or device_id = ?1", device).execute(&mut *change).await?;
        change.commit().await?;
        self.0.ended.send_replace(());
        Ok(done.rows_affected())
    }

    /// Changes whenever a device was ended, so that what it still follows ends too.
    #[must_use]
    pub fn ended(&self) -> watch::Receiver<()> {
        self.0.ended.subscribe()
    }
}

/// Adds a device that proves itself with this token, and gives its number.
pub(super) async fn add(
    change: &mut sqlx::SqliteConnection,
    kind: DeviceKind,
    name: &str,
    token: &str,
    now: OffsetDateTime,
) -> Result<i64> {
    let name = apart(change, name, None).await?;
    let (hash, now_ms) = (seal::hash(token), to_ms(now));
    let (kind, ends_ms) = match kind {
        DeviceKind::Person => ("person", Some(to_ms(now + LET_IN_FOR))),
        DeviceKind::Probe => ("probe", None),
    };
    let added = sqlx::query!(
        "
        insert into device (kind, name, token_hash, paired_ms, seen_ms, ends_ms)
        values (?, ?, ?, ?, ?, ?)
        ",
        kind,
        name,
        hash,
        now_ms,
        now_ms,
        ends_ms,
    )
    .execute(change)
    .await?;
    Ok(added.last_insert_rowid())
}

/// A name that no other device has: the second "Phone" becomes "Phone 2".
async fn apart(change: &mut sqlx::SqliteConnection, name: &str, own: Option<i64>) -> Result<String> {
    let name: String = name.chars().take(DEVICE_NAME_CHARS).collect();
    for number in 1.. {
        let tried = if number == 1 { name.clone() } else { format!("{name} {number}") };
        let taken =
            sqlx::query_scalar!("select device_id from device where name = ?1 and device_id is not ?2", tried, own)
                .fetch_optional(&mut *change)
                .await?;
        if taken.is_none() {
            return Ok(tried);
        }
    }
    Ok(name)
}

/// Forgets those that are let in no more, so that the table can't grow for ever.
pub(super) async fn forget_ended(change: &mut sqlx::SqliteConnection, now: OffsetDateTime) -> Result<()> {
    let (now_ms, idle_ms) = (to_ms(now), to_ms(now - IDLE_FOR));
    sqlx::query!("delete from device where ends_ms <= ? or (kind = 'person' and seen_ms <= ?)", now_ms, idle_ms)
        .execute(change)
        .await?;
    Ok(())
}
