//! Vessels, coils and instruments as they are described now. A batch keeps a
//! copy of its own, so describing one anew changes no batch.

use sqlx::SqliteConnection;
use time::OffsetDateTime;

use super::care::with_care;
use super::{Result, Store, from_ms, to_json, to_ms};
use crate::brewday::choices::{Choice, EquipmentKind};
use crate::brewday::{Equipment, EquipmentRecord};

/// A piece of equipment as it stands in the book.
#[derive(Clone, Debug, PartialEq)]
pub struct StoredEquipment {
    /// Its id, what it is and the state it is in.
    pub record: EquipmentRecord,
    /// When it was added.
    pub created_at: OffsetDateTime,
    /// When it was described as it is now.
    pub changed_at: OffsetDateTime,
    /// Whether it was put away.
    pub retired: bool,
}

/// A batch that a piece of equipment was used in.
#[derive(Clone, Debug, PartialEq)]
pub struct EquipmentUse {
    /// The batch.
    pub batch: i64,
    /// What the brewer calls it.
    pub name: String,
    /// When wort last touched the piece in it.
    pub used_at: OffsetDateTime,
}

struct Row {
    equipment_id: i64,
    body: String,
    created_ms: i64,
    changed_ms: i64,
    retired_ms: Option<i64>,
}

impl Store {
    /// Adds a piece of equipment and gives its id.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn add_equipment(&self, equipment: &Equipment, now: OffsetDateTime) -> Result<i64> {
        let mut change = self.begin().await?;
        if let Some(made) = self.made_before(&mut change).await? {
            return Ok(made);
        }
        let id = add(&mut change, equipment, to_ms(now)).await?;
        self.note_made(&mut change, id, to_ms(now)).await?;
        change.commit().await?;
        Ok(id)
    }

    /// Adds what of a set is not in the book yet, by kind and name: all of it or nothing.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn add_missing_equipment(&self, set: &[Equipment], now: OffsetDateTime) -> Result<()> {
        let mut change = self.begin().await?;
        for piece in set {
            let kind = piece.kind.key();
            let held = sqlx::query_scalar!(
                "select equipment_id from equipment where kind = ? and name = ? and retired_ms is null",
                kind,
                piece.name,
            )
            .fetch_optional(&mut *change)
            .await?;
            if held.is_none() {
                add(&mut change, piece, to_ms(now)).await?;
            }
        }
        change.commit().await
    }

    /// Describes a piece of equipment anew. Tells whether there is such a piece.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn change_equipment(&self, id: i64, equipment: &Equipment, now: OffsetDateTime) -> Result<bool> {
        let (kind, body, now) = (equipment.kind.key(), to_json(equipment)?, to_ms(now));
        let mut change = self.begin().await?;
        let done = sqlx::query!(
            "update equipment set kind = ?, name = ?, body = ?, changed_ms = ? where equipment_id = ?",
            kind,
            equipment.name,
            body,
            now,
            id,
        )
        .execute(&mut *change)
        .await?;
        change.commit().await?;
        Ok(done.rows_affected() > 0)
    }

    /// A piece of equipment as it stands.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn equipment(&self, id: i64) -> Result<Option<StoredEquipment>> {
        let mut snapshot = self.0.readers.begin().await?;
        let row = sqlx::query_as!(
            Row,
            "
            select
                equipment_id,
                body,
                created_ms,
                changed_ms,
                retired_ms
            from equipment
            where equipment_id = ?
            ",
            id,
        )
        .fetch_optional(&mut *snapshot)
        .await?;
        match row {
            Some(row) => Ok(Some(row.stored(&mut snapshot).await?)),
            None => Ok(None),
        }
    }

    /// Every piece of one kind, or of all kinds, by name; those put away only
    /// where `retired` asks for them, and then only those.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn equipment_list(&self, kind: Option<EquipmentKind>, retired: bool) -> Result<Vec<StoredEquipment>> {
        let kind = kind.map(Choice::key);
        let mut snapshot = self.0.readers.begin().await?;
        let rows = sqlx::query_as!(
            Row,
            "
            select
                equipment_id,
                body,
                created_ms,
                changed_ms,
                retired_ms
            from equipment
            where kind = coalesce(?, kind) and (retired_ms is not null) = ?
            order by name collate nocase, equipment_id
            ",
            kind,
            retired,
        )
        .fetch_all(&mut *snapshot)
        .await?;
        let mut list = Vec::with_capacity(rows.len());
        for row in rows {
            list.push(row.stored(&mut snapshot).await?);
        }
        Ok(list)
    }

    /// The last `most` batches a piece was used in, the latest first, and how many there are.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn equipment_uses(&self, id: i64, most: u32) -> Result<(Vec<EquipmentUse>, usize)> {
        let mut snapshot = self.0.readers.begin().await?;
        let total = sqlx::query_scalar!("select count(*) from equipment_use where equipment_id = ?", id)
            .fetch_one(&mut *snapshot)
            .await?;
        let rows = sqlx::query!(
            "
            select
                equipment_use.batch_id,
                name,
                used_ms
            from equipment_use
            join batch
                on batch.batch_id = equipment_use.batch_id
            where equipment_id = ?
            order by used_ms desc, equipment_use.batch_id desc
            limit ?
            ",
            id,
            most,
        )
        .fetch_all(&mut *snapshot)
        .await?;
        let uses = rows
            .into_iter()
            .map(|row| Ok(EquipmentUse { batch: row.batch_id, name: row.name, used_at: from_ms(row.used_ms)? }));
        Ok((uses.collect::<Result<_>>()?, usize::try_from(total).unwrap_or(0)))
    }

    /// Puts a piece away; batches and its care log keep it. Tells whether there is such a piece.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn retire_equipment(&self, id: i64, now: OffsetDateTime) -> Result<bool> {
        self.set_equipment_retired(id, Some(to_ms(now))).await
    }

    /// Takes a piece out again. Tells whether there is such a piece.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn unretire_equipment(&self, id: i64) -> Result<bool> {
        self.set_equipment_retired(id, None).await
    }

    async fn set_equipment_retired(&self, id: i64, retired_ms: Option<i64>) -> Result<bool> {
        let mut change = self.begin().await?;
        let done = sqlx::query!("update equipment set retired_ms = ? where equipment_id = ?", retired_ms, id)
            .execute(&mut *change)
            .await?;
        change.commit().await?;
        Ok(done.rows_affected() > 0)
    }
}

async fn add(change: &mut SqliteConnection, equipment: &Equipment, now_ms: i64) -> Result<i64> {
    let (kind, body) = (equipment.kind.key(), to_json(equipment)?);
    let added = sqlx::query!(
        "insert into equipment (kind, name, body, created_ms, changed_ms) values (?, ?, ?, ?, ?)",
        kind,
        equipment.name,
        body,
        now_ms,
        now_ms,
    )
    .execute(change)
    .await?;
    Ok(added.last_insert_rowid())
}

impl Row {
    async fn stored(self, connection: &mut SqliteConnection) -> Result<StoredEquipment> {
        Ok(StoredEquipment {
            record: with_care(connection, self.equipment_id, &self.body).await?,
            created_at: from_ms(self.created_ms)?,
            changed_at: from_ms(self.changed_ms)?,
            retired: self.retired_ms.is_some(),
        })
    }
}

#[cfg(test)]
mod tests {
    use time::Duration;

    use crate::brewday::choices::EquipmentKind;
    use crate::store::testing::{Book, NOON, book, equipment};

    #[tokio::test]
    async fn equipment_is_described_anew_in_place() {
        let Book { store, folder: _folder } = book().await;
        let mut coil = equipment("Coil", "coil");
        let id = store.add_equipment(&coil, NOON).await.unwrap();
        coil.pass_min = Some(9.5);
        let later = NOON + Duration::minutes(1);
        assert!(store.change_equipment(id, &coil, later).await.unwrap());
        let stored = store.equipment(id).await.unwrap().unwrap();
        assert_eq!((stored.record.equipment, stored.created_at, stored.changed_at), (coil.clone(), NOON, later));
        assert!(!store.change_equipment(99, &coil, NOON).await.unwrap());
        assert!(store.equipment(99).await.unwrap().is_none());
    }

    #[tokio::test]
    async fn the_list_is_by_kind_and_leaves_out_what_was_put_away() {
        let Book { store, folder: _folder } = book().await;
        for (name, kind) in [("b", "coil"), ("A", "kettle"), ("c", "coil")] {
            store.add_equipment(&equipment(name, kind), NOON).await.unwrap();
        }
        let names = async |kind, retired| {
            let found = store.equipment_list(kind, retired).await.unwrap();
            found.into_iter().map(|stored| stored.record.equipment.name).collect::<Vec<_>>()
        };
        assert_eq!(names(None, false).await, ["A", "b", "c"]);
        assert_eq!(names(Some(EquipmentKind::Coil), false).await, ["b", "c"]);
        assert!(store.retire_equipment(1, NOON).await.unwrap());
        assert_eq!(names(Some(EquipmentKind::Coil), false).await, ["c"]);
        assert_eq!(names(None, true).await, ["b"]);
        assert!(store.unretire_equipment(1).await.unwrap());
        assert_eq!(names(None, true).await, [""; 0]);
    }
}
