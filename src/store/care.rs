//! The care of equipment: its log over all batches and outside of them, and the
//! state that follows from it.

use std::collections::{HashMap, HashSet};

use sqlx::SqliteConnection;
use time::OffsetDateTime;
use uuid::Uuid;

use super::log::Row;
use super::{Result, Store, from_json, from_ms, to_json, to_ms};
use crate::brewday::care::{CareEvent, CareEventKind, CareState};
use crate::brewday::day::{Standing, standing};
use crate::brewday::{Body, Equipment, EquipmentRecord, LoggedEntry};

/// Something done to a piece of equipment.
#[derive(Clone, Debug, PartialEq)]
pub struct CareLine {
    /// The batch it was done in; none outside of a brew day.
    pub batch: Option<i64>,
    /// The care entry, as it stands.
    pub entry: Standing,
}

/// A care entry as it was first written, and what stands of it now.
#[derive(Clone, Debug, PartialEq)]
pub struct CareWritten {
    /// The batch it was done in; none outside of a brew day.
    pub batch: Option<i64>,
    /// The entry as it was received.
    pub written: LoggedEntry,
    /// The entry as it stands; none where it was struck out.
    pub stands: Option<Standing>,
}

impl Store {
    /// What was written about the care of a piece of equipment, what was struck out
    /// or moved to another piece included: the newest `most` of it, in the order it
    /// happened, and how much there is in all.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn care_history(&self, equipment: i64, most: u32) -> Result<(Vec<CareWritten>, usize)> {
        let mut reader = self.0.readers.begin().await?;
        let amended = Amended::of(&mut reader, equipment).await?;
        let except = amended.except()?;
        // All that is filed here, off an index alone, less what of it was amended.
        let plain = sqlx::query_scalar!(
            r#"
            select count(*) - (
                select count(*)
                from json_each(?1) as amended
                cross join entry
                    on entry_id = unhex(amended.value)
                where equipment_id = ?2 and kind = 'care'
            ) as "plain!: i64"
            from entry
            where equipment_id = ?2 and kind = 'care'
            "#,
            except,
            equipment,
        )
        .fetch_one(&mut *reader)
        .await?;
        let rows = sqlx::query_as!(
            Row,
            r#"
            select
                seq as "seq!",
                entry_id as "entry_id!: Uuid",
                batch_id,
                at_ms as "at_ms!",
                received_ms as "received_ms!",
                device,
                body as "body!"
            from entry
            where equipment_id = ? and kind = 'care' and hex(entry_id) not in (select value from json_each(?))
            order by at_ms desc, seq desc
            limit ?
            "#,
            equipment,
            except,
            most,
        )
        .fetch_all(&mut *reader)
        .await?;
        let total = usize::try_from(plain).unwrap_or(0) + amended.care.len();
        let mut history = amended.with(rows)?;
        history.drain(..history.len().saturating_sub(usize::try_from(most).unwrap_or(usize::MAX)));
        Ok((history, total))
    }

    /// What was written of one care entry, where it was ever about this piece.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn care_entry(&self, equipment: i64, entry: Uuid) -> Result<Option<CareWritten>> {
        let mut reader = self.0.readers.begin().await?;
        let amended = Amended::of(&mut reader, equipment).await?;
        let rows = sqlx::query_as!(
            Row,
            r#"
            select
                seq as "seq!",
                entry_id as "entry_id!: Uuid",
                batch_id,
                at_ms as "at_ms!",
                received_ms as "received_ms!",
                device,
                body as "body!"
            from entry
            where entry_id = ? and equipment_id = ? and kind = 'care'
            "#,
            entry,
            equipment,
        )
        .fetch_all(&mut *reader)
        .await?;
        let rows = rows.into_iter().filter(|row| !amended.ids.contains(&row.entry_id)).collect();
        Ok(amended.with(rows)?.into_iter().find(|care| care.written.entry.id == entry))
    }

    /// All that was done to a piece of equipment after a time and still stands, in the order it happened.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn care_log(&self, equipment: i64, after: Option<OffsetDateTime>) -> Result<Vec<CareLine>> {
        let mut reader = self.0.readers.begin().await?;
        let after_ms = after.map_or(i64::MIN, to_ms);
        let amended = Amended::of(&mut reader, equipment).await?;
        let except = amended.except()?;
        let rows = sqlx::query_as!(
            Row,
            r#"
            select
                seq as "seq!",
                entry_id as "entry_id!: Uuid",
                batch_id,
                at_ms as "at_ms!",
                received_ms as "received_ms!",
                device,
                body as "body!"
            from entry
            where equipment_id = ?
                and kind = 'care'
                and at_ms > ?
                and hex(entry_id) not in (select value from json_each(?))
            order by at_ms, seq
            "#,
            equipment,
            after_ms,
            except,
        )
        .fetch_all(&mut *reader)
        .await?;
        let history = amended.with(rows)?.into_iter();
        let stands = history.filter_map(|care| Some(CareLine { batch: care.batch, entry: care.stands? }));
        let wanted = |line: &CareLine| {
            is_care_of(equipment, &line.entry.body) && after.is_none_or(|after| line.entry.at > after)
        };
        Ok(stands.filter(wanted).collect())
    }
}

/// A piece of equipment from its document, with the state it is in.
///
/// Its last use decides all but when it was cleaned, stored and weighed last, so
/// what was done since then is read, and the newest of each of those.
pub(super) async fn with_care(connection: &mut SqliteConnection, id: i64, body: &str) -> Result<EquipmentRecord> {
    let equipment: Equipment = from_json("a piece of equipment", body)?;
    let amended = Amended::of(&mut *connection, id).await?;
    let mut events: Vec<CareEvent> = last_use(&mut *connection, id).await?.into_iter().collect();
    let rows = newest(&mut *connection, id, events.first().map(|used| to_ms(used.at)), &amended).await?;
    let cared = amended.with(rows)?.into_iter().filter_map(|care| match care.stands {
        Some(Standing { at, body: Body::Care(done), .. }) if done.equipment == id => {
            Some(CareEvent { at, batch: care.batch, what: CareEventKind::Cared(done) })
        }
        _ => None,
    });
    events.extend(cared);
    // Stable: what was done at the very time of a use was done after it.
    events.sort_by_key(|event| event.at);
    let care = CareState::default().after(&events, equipment.dry_mass_kg);
    Ok(EquipmentRecord { id, equipment, care })
}

/// Care that stands as written: all since a time, and of what is older the last
/// cleaning, storing and weighing.
async fn newest(
    connection: &mut SqliteConnection,
    equipment: i64,
    since_ms: Option<i64>,
    amended: &Amended,
) -> Result<Vec<Row>> {
    let (since_ms, except) = (since_ms.unwrap_or(i64::MIN), amended.except()?);
    let rows = sqlx::query_as!(
        Row,
        r#"
        select
            seq as "seq!",
            entry_id as "entry_id!: Uuid",
            batch_id,
            at_ms as "at_ms!",
            received_ms as "received_ms!",
            device,
            body as "body!"
        from entry
        where seq in (
            select seq
            from entry
            where equipment_id = ?1 and kind = 'care' and at_ms >= ?2
            union all
            select seq
            from (
                select seq
                from entry
                where equipment_id = ?1
                    and kind = 'care'
                    and json_extract(body, '$.act') = 'cleaned'
                    and hex(entry_id) not in (select value from json_each(?3))
                order by at_ms desc, seq desc
                limit 1
            )
            union all
            select seq
            from (
                select seq
                from entry
                where equipment_id = ?1
                    and kind = 'care'
                    and json_extract(body, '$.act') = 'stored'
                    and hex(entry_id) not in (select value from json_each(?3))
                order by at_ms desc, seq desc
                limit 1
            )
            union all
            select seq
            from (
                select seq
                from entry
                where equipment_id = ?1
                    and kind = 'care'
                    and json_extract(body, '$.mass_kg') is not null
                    and hex(entry_id) not in (select value from json_each(?3))
                order by at_ms desc, seq desc
                limit 1
            )
        )
        "#,
        equipment,
        since_ms,
        except,
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().filter(|row| !amended.ids.contains(&row.entry_id)).collect())
}

/// The care of a piece that amendments bear on: a few of many.
struct Amended {
    /// Every entry that one is about, whichever piece it turned out to be about.
    ids: HashSet<Uuid>,
    /// Those that are or were about this piece.
    care: Vec<CareWritten>,
}

impl Amended {
    /// An amendment may move a care entry from one piece to another. The entry and
    /// its amendments stay filed under the first piece, so those are read as well.
    async fn of(connection: &mut SqliteConnection, equipment: i64) -> Result<Self> {
        let rows = sqlx::query_as!(
            Row,
            r#"
            with filed as (
                select ?1 as equipment
                union
                select equipment_id
                from entry
                where equipment_id is not null
                    and kind = 'amendment'
                    and json_extract(body, '$.replacement.equipment') = ?1
            )
            select
                seq as "seq!",
                entry_id as "entry_id!: Uuid",
                batch_id,
                at_ms as "at_ms!",
                received_ms as "received_ms!",
                device,
                body as "body!"
            from entry
            where seq in (
                select seq
                from entry
                where equipment_id in (select equipment from filed) and kind = 'amendment'
                union all
                select amended.seq
                from entry as amendment
                join entry as amended
                    on amended.entry_id = unhex(json_extract(amendment.body, '$.of'), '-')
                where amendment.equipment_id in (select equipment from filed) and amendment.kind = 'amendment'
            )
            order by seq
            "#,
            equipment,
        )
        .fetch_all(connection)
        .await?;
        let mut care = written(rows)?;
        let ids = care.iter().map(|care| care.written.entry.id).collect();
        care.retain(|care| {
            let stands = care.stands.as_ref().is_some_and(|entry| is_care_of(equipment, &entry.body));
            stands || is_care_of(equipment, &care.written.entry.body)
        });
        Ok(Self { ids, care })
    }

    /// The entries to be left out where the others are read.
    fn except(&self) -> Result<String> {
        to_json(&self.ids.iter().map(|id| format!("{:X}", id.simple())).collect::<Vec<_>>())
    }

    /// These, and others that nothing amends, in the order they happened.
    fn with(self, others: Vec<Row>) -> Result<Vec<CareWritten>> {
        let mut all = written(others)?;
        all.extend(self.care);
        all.sort_by_key(|care| {
            (care.stands.as_ref().map_or(care.written.entry.at, |entry| entry.at), care.written.seq)
        });
        Ok(all)
    }
}

/// Care entries with their amendments, as written and as they stand.
fn written(rows: Vec<Row>) -> Result<Vec<CareWritten>> {
    let batches: HashMap<Uuid, Option<i64>> = rows.iter().map(|row| (row.entry_id, row.batch_id)).collect();
    let log: Vec<LoggedEntry> = rows.into_iter().map(Row::logged).collect::<Result<_>>()?;
    let mut standing: HashMap<Uuid, Standing> =
        standing(log.clone()).into_iter().map(|entry| (entry.id, entry)).collect();
    let care = log.into_iter().filter(|logged| !matches!(logged.entry.body, Body::Amendment(_)));
    let care = care.map(|written| CareWritten {
        batch: batches.get(&written.entry.id).copied().flatten(),
        stands: standing.remove(&written.entry.id),
        written,
    });
    Ok(care.collect())
}

fn is_care_of(equipment: i64, body: &Body) -> bool {
    matches!(body, Body::Care(care) if care.equipment == equipment)
}

/// When wort touched a piece last, of batches at one time the last begun.
async fn last_use(connection: &mut SqliteConnection, equipment: i64) -> Result<Option<CareEvent>> {
    let row = sqlx::query!(
        "
        select
            batch_id,
            used_ms
        from equipment_use
        where equipment_id = ?
        order by used_ms desc, batch_id desc
        limit 1
        ",
        equipment,
    )
    .fetch_optional(connection)
    .await?;
    row.map(|row| Ok(CareEvent { at: from_ms(row.used_ms)?, batch: Some(row.batch_id), what: CareEventKind::Used }))
        .transpose()
}

#[cfg(test)]
mod tests {
    use time::Duration;
    use uuid::Uuid;

    use super::*;
    use crate::brewday::care::CareCondition;
    use crate::store::testing::{NOON, book, entry, equipment, new_batch, recipe};

    async fn acts(store: &Store, equipment: i64) -> Vec<(u128, Option<i64>)> {
        let log = store.care_log(equipment, None).await.unwrap();
        log.iter().map(|line| (line.entry.id.as_u128(), line.batch)).collect()
    }

    fn rinsed(number: u128, equipment: i64) -> crate::brewday::Entry {
        entry(number, &format!(r#"{{"kind": "care", "equipment": {equipment}, "act": "rinsed"}}"#))
    }

    #[tokio::test]
    async fn a_care_log_follows_its_equipment_through_amendments_and_batches() {
        let book = book().await;
        let store = &book.store;
        let coil = store.add_equipment(&equipment("Coil", "coil"), NOON).await.unwrap();
        let hose = store.add_equipment(&equipment("Hose", "hose"), NOON).await.unwrap();
        let recipe = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let batch = store.start_batch(&new_batch(recipe), NOON).await.unwrap().unwrap();
        let moved = format!(
            r#"{{"kind": "amendment", "of": "{}", "replacement": {{"kind": "care", "equipment": {hose}, "act": "rinsed"}}}}"#,
            Uuid::from_u128(1)
        );
        let void = |number| format!(r#"{{"kind": "amendment", "of": "{}", "void": true}}"#, Uuid::from_u128(number));
        store.append(None, vec![rinsed(1, coil), rinsed(10, coil)], None, NOON).await.unwrap();
        store.append(Some(batch), vec![rinsed(2, coil), rinsed(3, coil)], None, NOON).await.unwrap();
        assert_eq!(acts(store, coil).await, [(1, None), (10, None), (2, Some(batch)), (3, Some(batch))]);
        store.append(None, vec![entry(4, &moved)], None, NOON).await.unwrap();
        store.append(Some(batch), vec![entry(5, &void(2))], None, NOON).await.unwrap();
        assert_eq!(acts(store, coil).await, [(10, None), (3, Some(batch))]);
        assert_eq!(acts(store, hose).await, [(1, None)]);
        let (written, total) = store.care_history(coil, 10).await.unwrap();
        assert_eq!(total, written.len());
        let told = written.iter().map(|care| (care.written.entry.id.as_u128(), care.stands.is_some()));
        assert_eq!(told.collect::<Vec<_>>(), [(1, true), (10, true), (2, false), (3, true)]);
        store.append(None, vec![entry(6, &void(4))], None, NOON).await.unwrap();
        assert_eq!(acts(store, hose).await, []);
        assert_eq!(acts(store, coil).await, [(1, None), (10, None), (3, Some(batch))]);
    }

    #[tokio::test]
    async fn a_coil_used_since_it_was_cleaned_is_dirty_and_the_next_batch_keeps_that() {
        let book = book().await;
        let store = &book.store;
        let coil = store.add_equipment(&equipment("Coil", "coil"), NOON).await.unwrap();
        let recipe = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let mut new = new_batch(recipe);
        new.equipment = vec![coil];
        let condition = async || store.equipment(coil).await.unwrap().unwrap().record.care.condition;
        assert_eq!(condition().await, CareCondition::NotKnown);

        let mut cleaned = entry(1, &format!(r#"{{"kind": "care", "equipment": {coil}, "act": "cleaned"}}"#));
        cleaned.at = NOON - Duration::hours(1);
        store.append(None, vec![cleaned], None, NOON).await.unwrap();
        assert_eq!(condition().await, CareCondition::CleanWet);
        let batch = store.start_batch(&new, NOON).await.unwrap().unwrap();
        let chill = entry(2, r#"{"kind": "cooling_started", "method": "still_bath", "water_l": 17, "water_c": 12}"#);
        store.append(Some(batch), vec![chill], None, NOON).await.unwrap();
        assert_eq!(condition().await, CareCondition::Dirty);
        let (uses, total) = store.equipment_uses(coil, 10).await.unwrap();
        assert_eq!(total, 1);
        assert_eq!(
            uses.iter().map(|one| (one.batch, one.name.as_str(), one.used_at)).collect::<Vec<_>>(),
            [(batch, "Pale", NOON)]
        );
        let next = store.start_batch(&new, NOON).await.unwrap().unwrap();

        // Striking the chill out takes the use back; the batch started meanwhile keeps what it saw.
        let void = format!(r#"{{"kind": "amendment", "of": "{}", "void": true}}"#, Uuid::from_u128(2));
        store.append(Some(batch), vec![entry(3, &void)], None, NOON).await.unwrap();
        assert_eq!(condition().await, CareCondition::CleanWet);
        let seen = async |batch| store.batch(batch).await.unwrap().unwrap().equipment[0].care.condition;
        assert_eq!((seen(batch).await, seen(next).await), (CareCondition::CleanWet, CareCondition::Dirty));
    }

    /// The state by everything there is, in order, as it was computed before any of it was left out.
    async fn state_by_all(store: &Store, piece: i64) -> CareState {
        let uses: Vec<(i64, i64)> =
            sqlx::query_as("select batch_id, used_ms from equipment_use where equipment_id = ? order by batch_id")
                .bind(piece)
                .fetch_all(&store.0.readers)
                .await
                .unwrap();
        let used = |(batch, ms)| CareEvent { at: from_ms(ms).unwrap(), batch: Some(batch), what: CareEventKind::Used };
        let mut events: Vec<CareEvent> = uses.into_iter().map(used).collect();
        for line in store.care_log(piece, None).await.unwrap() {
            let Body::Care(done) = line.entry.body else { panic!("care") };
            events.push(CareEvent { at: line.entry.at, batch: line.batch, what: CareEventKind::Cared(done) });
        }
        events.sort_by_key(|event| event.at);
        CareState::default().after(&events, Some(2.5))
    }

    #[tokio::test]
    async fn the_newest_care_tells_the_state_that_all_of_it_tells() {
        let book = book().await;
        let store = &book.store;
        let mut pieces = Vec::new();
        for kind in ["coil", "hose"] {
            let piece = Equipment { dry_mass_kg: Some(2.5), ..equipment(kind, kind) };
            pieces.push(store.add_equipment(&piece, NOON).await.unwrap());
        }
        let recipe = store.add_recipe(&recipe("Pale"), NOON).await.unwrap();
        let mut batches = Vec::new();
        for _ in 0..3 {
            let new = crate::brewday::batch::NewBatch { equipment: pieces.clone(), ..new_batch(recipe) };
            batches.push(store.start_batch(&new, NOON).await.unwrap().unwrap());
        }
        let mut seed = 20_260_307_u64;
        let mut any = |of: usize| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            usize::try_from(seed >> 33).unwrap() % of
        };
        let mut written: Vec<(u128, Option<i64>)> = Vec::new();
        for number in 1..200_u128 {
            let piece = pieces[any(2)];
            let care = match any(6) {
                0 => format!(r#""kind": "care", "equipment": {piece}, "act": "cleaned""#),
                1 => format!(r#""kind": "care", "equipment": {piece}, "act": "rinsed""#),
                2 => format!(r#""kind": "care", "equipment": {piece}, "act": "blown_dry""#),
                3 => format!(r#""kind": "care", "equipment": {piece}, "act": "stored", "where": "hook {number}""#),
                4 => format!(r#""kind": "care", "equipment": {piece}, "act": "weighed", "mass_kg": 2.5{}"#, any(9)),
                _ => format!(r#""kind": "care", "equipment": {piece}, "act": "flushed", "mass_kg": 2.{}"#, 5 + any(4)),
            };
            let batch = [None, Some(batches[any(3)])][any(2)];
            let of = (!written.is_empty()).then(|| written[any(written.len())]);
            let (body, batch) = match (any(8), of) {
                (0, Some((of, batch))) => {
                    (format!(r#"{{"kind": "amendment", "of": "{}", "void": true}}"#, Uuid::from_u128(of)), batch)
                }
                (1, Some((of, batch))) => {
                    let of = Uuid::from_u128(of);
                    (format!(r#"{{"kind": "amendment", "of": "{of}", "replacement": {{{care}}}}}"#), batch)
                }
                (2, _) => (r#"{"kind": "flush_started"}"#.to_owned(), Some(batches[any(3)])),
                _ => (format!("{{{care}}}"), batch),
            };
            let mut one = entry(number, &body);
            // Few times, so that some happen at once.
            one.at = NOON + Duration::hours(i64::try_from(any(40)).unwrap());
            let is_use = matches!(one.body, Body::FlushStarted { .. });
            let receipt = store.append(batch, vec![one], None, NOON).await.unwrap().unwrap();
            if !is_use && !receipt.accepted.is_empty() {
                written.push((number, batch));
            }
            for &piece in &pieces {
                let told = store.equipment(piece).await.unwrap().unwrap().record.care;
                assert_eq!(told, state_by_all(store, piece).await, "piece {piece} after entry {number}: {body}");
            }
        }
        for &piece in &pieces {
            let (all, total) = store.care_history(piece, 1000).await.unwrap();
            assert_eq!(all.len(), total);
            assert!(all.iter().any(|care| care.stands.is_none()) && all.len() > 50, "{}", all.len());
            let (newest, same) = store.care_history(piece, 7).await.unwrap();
            assert_eq!((newest.as_slice(), same), (&all[all.len() - 7..], total));
            for care in &all {
                let id = care.written.entry.id;
                assert_eq!(store.care_entry(piece, id).await.unwrap().as_ref(), Some(care));
            }
            let log = store.care_log(piece, None).await.unwrap();
            let after = NOON + Duration::hours(20);
            let late: Vec<CareLine> = log.iter().filter(|line| line.entry.at > after).cloned().collect();
            assert_eq!(store.care_log(piece, Some(after)).await.unwrap(), late);
        }
    }
}
