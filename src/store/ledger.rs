//! The list of batches, from the kept summaries: no log is folded for it.

use sqlx::{AssertSqlSafe, SqliteConnection};
use time::OffsetDateTime;

use super::{Result, Store, StoreError, from_json, from_ms, is_found, to_json};
use crate::brewday::BatchState;
use crate::brewday::choices::{Choice, choices};

choices! {
    /// What the ledger can be sorted by.
    LedgerColumn {
        Brewed = "brewed", "Brewed";
        Name = "name", "Batch";
        Recipe = "recipe", "Recipe";
        State = "state", "State";
        OriginalGravity = "original_sg", "Original gravity";
        IntoFermenter = "into_fermenter_l", "Into fermenter";
        Abv = "abv_pct", "ABV";
        Settled = "minutes_to_settled", "Time to settled";
        StandardChill = "standard_chill_min", "Standard chill";
    }
}

/// States in the order a batch goes through them.
const BY_STATE: &str = "case state when 'planned' then 0 when 'brewing' then 1 when 'fermenting' then 2 else 3 end";

/// Which part of the ledger is wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LedgerQuery {
    /// Any part of a batch's or its recipe's name.
    pub search: String,
    /// What to sort by.
    pub sort: LedgerColumn,
    /// Largest, latest or last in the alphabet first. A batch without the figure comes last either way.
    pub descending: bool,
    /// How many rows to pass over.
    pub skip: u32,
    /// How many rows to give.
    pub take: u32,
}

impl Default for LedgerQuery {
    /// The newest 50.
    fn default() -> Self {
        Self { search: String::new(), sort: LedgerColumn::Brewed, descending: true, skip: 0, take: 50 }
    }
}

/// A part of the ledger.
#[derive(Clone, Debug, PartialEq)]
pub struct Ledger {
    /// The rows asked for.
    pub rows: Vec<LedgerRow>,
    /// How many there are in all, of those that were searched for.
    pub total: i64,
}

/// One batch in the ledger.
#[derive(Clone, Debug, PartialEq)]
#[expect(missing_docs, reason = "named as the figures are in the summary")]
pub struct LedgerRow {
    pub batch: i64,
    pub name: String,
    pub recipe_id: i64,
    pub recipe_revision: i64,
    pub recipe: String,
    pub state: BatchState,
    pub started_at: OffsetDateTime,
    pub brewed_at: OffsetDateTime,
    pub volume_l: f64,
    pub original_sg: Option<f64>,
    pub into_fermenter_l: Option<f64>,
    pub abv_pct: Option<f64>,
    pub minutes_to_settled: Option<f64>,
    pub standard_chill_min: Option<f64>,
    /// Minutes since flame-out and °C.
    pub curve: Vec<(f64, f64)>,
}

struct Row {
    batch_id: i64,
    name: String,
    recipe_id: i64,
    recipe_revision: i64,
    recipe: String,
    created_ms: i64,
    volume_l: f64,
    brewed_ms: i64,
    state: String,
    original_sg: Option<f64>,
    into_fermenter_l: Option<f64>,
    abv_pct: Option<f64>,
    minutes_to_settled: Option<f64>,
    standard_chill_min: Option<f64>,
    curve: String,
}

impl Store {
    /// The batches of a query.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn ledger(&self, query: &LedgerQuery) -> Result<Ledger> {
        let mut snapshot = self.0.readers.begin().await?;
        let found = match query.search.trim() {
            "" => None,
            search => Some(found(&mut snapshot, search).await?),
        };
        let total = match &found {
            Some(found) => i64::try_from(found.len()).unwrap_or(i64::MAX),
            None => sqlx::query_scalar!("select count(*) from batch").fetch_one(&mut *snapshot).await?,
        };
        let found = found.as_ref().map(to_json).transpose()?;
        let first =
            if query.begins_with_the_open() { open(&mut snapshot, found.as_deref()).await? } else { Vec::new() };
        let (skip, take) = (query.skip as usize, query.take as usize);
        let mut ids: Vec<i64> = first.iter().skip(skip).take(take).copied().collect();
        let rest: Vec<i64> = sqlx::query_scalar(AssertSqlSafe(query.order()))
            .bind(found)
            .bind((take - ids.len()) as i64)
            .bind(skip.saturating_sub(first.len()) as i64)
            .bind(to_json(&first)?)
            .fetch_all(&mut *snapshot)
            .await?;
        ids.extend(rest);
        Ok(Ledger { rows: rows(&mut snapshot, &ids).await?, total })
    }

    /// At most `take` batches by their number, the newest first, from the one before `before` on.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn newest_batches(&self, before: Option<i64>, take: i64) -> Result<Vec<LedgerRow>> {
        let rows = sqlx::query_as!(
            Row,
            r#"
            select
                batch_id,
                batch.name,
                batch.recipe_id,
                recipe_revision,
                recipe.name as recipe,
                batch.created_ms,
                volume_l,
                brewed_ms,
                state,
                original_sg,
                into_fermenter_l,
                abv_pct,
                minutes_to_settled,
                standard_chill_min,
                curve
            from batch
            join recipe_revision as recipe
                on recipe.recipe_id = batch.recipe_id and recipe.number = batch.recipe_revision
            join summary using (batch_id)
            where ?1 is null or batch_id < ?1
            order by batch_id desc
            limit ?2
            "#,
            before,
            take,
        )
        .fetch_all(&self.0.readers)
        .await?;
        rows.into_iter().map(Row::told).collect()
    }
}

impl LedgerQuery {
    /// Whether what is being brewed stands first, and then what is planned: where
    /// one looks for the batch at hand, newest first.
    fn begins_with_the_open(&self) -> bool {
        self.sort == LedgerColumn::Brewed && self.descending
    }

    /// The ids of a page of the ledger, of those in a JSON array (`?1`) or of all
    /// (null). Each order is read off an index, so that a page costs no more in a
    /// book of ten thousand batches than in one of ten.
    fn order(&self) -> String {
        let recipes = "recipe_revision cross join batch \
             on batch.recipe_id = recipe_revision.recipe_id and recipe_revision = number";
        let (from, term) = match self.sort {
            LedgerColumn::Brewed => ("summary", "brewed_ms"),
            LedgerColumn::Name => ("batch", "name collate nocase"),
            LedgerColumn::Recipe => (recipes, "recipe_revision.name collate nocase"),
            LedgerColumn::State => ("summary", BY_STATE),
            LedgerColumn::OriginalGravity => ("summary", "original_sg"),
            LedgerColumn::IntoFermenter => ("summary", "into_fermenter_l"),
            LedgerColumn::Abv => ("summary", "abv_pct"),
            LedgerColumn::Settled => ("summary", "minutes_to_settled"),
            LedgerColumn::StandardChill => ("summary", "standard_chill_min"),
        };
        let way = if self.descending { "desc" } else { "asc" };
        format!(
            "select batch_id from {from} \
             where (?1 is null or batch_id in (select value from json_each(?1))) \
             and batch_id not in (select value from json_each(?4)) \
             order by {term} {way} nulls last, batch_id desc limit ?2 offset ?3"
        )
    }
}

impl Row {
    fn told(self) -> Result<LedgerRow> {
        let unreadable = || StoreError::Unreadable { what: "a batch's state", why: "no such state".into() };
        Ok(LedgerRow {
            batch: self.batch_id,
            name: self.name,
            recipe_id: self.recipe_id,
            recipe_revision: self.recipe_revision,
            recipe: self.recipe,
            state: BatchState::from_key(&self.state).ok_or_else(unreadable)?,
            started_at: from_ms(self.created_ms)?,
            brewed_at: from_ms(self.brewed_ms)?,
            volume_l: self.volume_l,
            original_sg: self.original_sg,
            into_fermenter_l: self.into_fermenter_l,
            abv_pct: self.abv_pct,
            minutes_to_settled: self.minutes_to_settled,
            standard_chill_min: self.standard_chill_min,
            curve: from_json("a curve", &self.curve)?,
        })
    }
}

/// The batches that run, then those that are planned, each newest first. The index of
/// what is sorted by holds the states, so that no other batch's own page is read.
async fn open(connection: &mut SqliteConnection, found: Option<&str>) -> Result<Vec<i64>> {
    let query = format!(
        "select batch_id from summary \
         where state in ('planned', 'brewing') and (?1 is null or batch_id in (select value from json_each(?1))) \
         order by {BY_STATE} desc, brewed_ms desc, batch_id desc"
    );
    Ok(sqlx::query_scalar(AssertSqlSafe(query)).bind(found).fetch_all(connection).await?)
}

/// The rows of these batches, in this order.
async fn rows(connection: &mut SqliteConnection, ids: &[i64]) -> Result<Vec<LedgerRow>> {
    let wanted = to_json(&ids)?;
    let rows = sqlx::query_as!(
        Row,
        r#"
        select
            batch_id as "batch_id!",
            batch.name,
            batch.recipe_id,
            recipe_revision,
            recipe.name as recipe,
            batch.created_ms,
            volume_l,
            brewed_ms,
            state,
            original_sg,
            into_fermenter_l,
            abv_pct,
            minutes_to_settled,
            standard_chill_min,
            curve
        from json_each(?) as wanted
        join batch on batch_id = wanted.value
        join summary using (batch_id)
        join recipe_revision as recipe
            on recipe.recipe_id = batch.recipe_id and recipe.number = batch.recipe_revision
        order by wanted.key
        "#,
        wanted,
    )
    .fetch_all(connection)
    .await?;
    rows.into_iter().map(Row::told).collect()
}

/// The batches that a search finds, by their own or their recipe's name.
///
/// Only Rust knows upper and lower case in every language, and a row that has to be
/// handed over for it costs more than looking at it: plain letters are compared by
/// the file, which hands over what it can't tell.
async fn found(connection: &mut SqliteConnection, search: &str) -> Result<Vec<i64>> {
    let plain = search.is_ascii().then(|| like(search.trim()));
    let names = sqlx::query!(
        r"
        select
            batch_id,
            batch.name,
            recipe.name as recipe
        from batch
        cross join recipe_revision as recipe
            on recipe.recipe_id = batch.recipe_id and recipe.number = batch.recipe_revision
        where batch.name like ?1 escape '\'
            or octet_length(batch.name) <> length(batch.name)
            or batch.recipe_id in (
                select recipe_id
                from recipe_revision
                where ?1 is null or name like ?1 escape '\' or octet_length(name) <> length(name)
            )
        ",
        plain,
    )
    .fetch_all(connection)
    .await?;
    let found = names.into_iter().filter(|row| is_found(&row.name, search) || is_found(&row.recipe, search));
    Ok(found.map(|row| row.batch_id).collect())
}

/// A pattern for any text that has this one in it.
fn like(text: &str) -> String {
    let mut pattern = String::from("%");
    for letter in text.chars() {
        if matches!(letter, '%' | '_' | '\\') {
            pattern.push('\\');
        }
        pattern.push(letter);
    }
    pattern + "%"
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::testing::{Book, NOON, book, new_batch, recipe};

    /// Four batches with figures of their own, written past the computation.
    async fn four() -> Book {
        let book = book().await;
        let store = &book.store;
        for (recipe_name, name) in [("Pale", "b"), ("Stout", "C"), ("Pale", "a 100%"), ("Amber", "d")] {
            let recipe = store.add_recipe(&recipe(recipe_name), NOON).await.unwrap();
            let mut new = new_batch(recipe);
            new.name = Some(name.into());
            store.start_batch(&new, NOON).await.unwrap().unwrap();
        }
        for (batch, sg, state) in [(1, Some(1.05), "closed"), (2, Some(1.07), "planned"), (3, None, "fermenting")] {
            sqlx::query("update summary set original_sg = ?, state = ?, curve = '[[0.0,95.5]]' where batch_id = ?")
                .bind(sg)
                .bind(state)
                .bind(batch)
                .execute(&store.0.writer)
                .await
                .unwrap();
        }
        book
    }

    async fn order(book: &Book, sort: LedgerColumn, descending: bool) -> Vec<i64> {
        let query = LedgerQuery { sort, descending, ..LedgerQuery::default() };
        book.store.ledger(&query).await.unwrap().rows.iter().map(|row| row.batch).collect()
    }

    #[tokio::test]
    async fn it_sorts_by_its_columns_both_ways_and_what_has_no_figure_comes_last() {
        let book = four().await;
        assert_eq!(order(&book, LedgerColumn::Name, false).await, [3, 1, 2, 4]);
        assert_eq!(order(&book, LedgerColumn::Name, true).await, [4, 2, 1, 3]);
        assert_eq!(order(&book, LedgerColumn::Recipe, false).await, [4, 3, 1, 2]);
        assert_eq!(order(&book, LedgerColumn::OriginalGravity, false).await, [1, 2, 4, 3]);
        assert_eq!(order(&book, LedgerColumn::OriginalGravity, true).await, [2, 1, 4, 3]);
        assert_eq!(order(&book, LedgerColumn::State, true).await, [1, 3, 4, 2]);
        assert_eq!(order(&book, LedgerColumn::Brewed, false).await, [4, 3, 2, 1], "all begun at one time");
    }

    #[tokio::test]
    async fn the_newest_first_begin_with_what_runs_and_then_what_is_planned() {
        let book = four().await;
        for (batch, state, brewed_ms) in [(1, "brewing", 1), (2, "planned", 9), (3, "fermenting", 5), (4, "closed", 7)]
        {
            sqlx::query("update summary set state = ?, brewed_ms = ? where batch_id = ?")
                .bind(state)
                .bind(brewed_ms)
                .bind(batch)
                .execute(&book.store.0.writer)
                .await
                .unwrap();
        }
        assert_eq!(order(&book, LedgerColumn::Brewed, true).await, [1, 2, 4, 3]);
        assert_eq!(order(&book, LedgerColumn::Brewed, false).await, [1, 3, 4, 2], "by date alone");
        let page = async |search: &str, skip, take| {
            let query = LedgerQuery { search: search.into(), skip, take, ..LedgerQuery::default() };
            let ledger = book.store.ledger(&query).await.unwrap();
            ledger.rows.iter().map(|row| row.batch).collect::<Vec<_>>()
        };
        assert_eq!(page("", 1, 2).await, [2, 4]);
        assert_eq!(page("", 3, 2).await, [3]);
        assert_eq!(page("pale", 0, 9).await, [1, 3], "of what was found too");
    }

    #[tokio::test]
    async fn it_searches_both_names_and_gives_a_page_of_them() {
        let book = four().await;
        let ask = async |search: &str, skip, take| {
            let query = LedgerQuery { search: search.into(), skip, take, ..LedgerQuery::default() };
            let ledger = book.store.ledger(&query).await.unwrap();
            (ledger.rows.iter().map(|row| row.batch).collect::<Vec<_>>(), ledger.total)
        };
        assert_eq!(ask("pale", 0, 50).await, (vec![3, 1], 2));
        assert_eq!(ask(" 0% ", 0, 50).await, (vec![3], 1));
        // Batches 4 and 2 are planned, and stand first.
        assert_eq!(ask("", 1, 2).await, (vec![2, 3], 4));
        assert_eq!(ask("", 9, 2).await, (vec![], 4));
        assert_eq!(ask("b\npale", 0, 50).await, (vec![], 0));
        assert_eq!(ask("A 1_0", 0, 50).await, (vec![], 0));
    }

    #[tokio::test]
    async fn a_search_knows_upper_and_lower_case_in_every_language() {
        let book = four().await;
        let find = async |search: &str| {
            let query = LedgerQuery { search: search.into(), ..LedgerQuery::default() };
            book.store.ledger(&query).await.unwrap().rows.iter().map(|row| row.batch).collect::<Vec<_>>()
        };
        // The last is written with the sign for kelvin, whose small letter is a plain k.
        for (batch, name) in [(1, "ÄRGER No. 1"), (2, "straße\\_%"), (3, "\u{212a}elvin")] {
            book.store.rename_batch(batch, name).await.unwrap();
        }
        assert_eq!(find("ärger").await, [1]);
        assert_eq!(find("NO. 1").await, [1]);
        assert_eq!(find("STRAßE").await, [2]);
        assert_eq!((find("\\_%").await, find("_").await, find("e\\").await), (vec![2], vec![2], vec![2]));
        assert_eq!(find("kelvin").await, [3]);
        assert_eq!(find("AMBER").await, [4]);
    }

    #[tokio::test]
    async fn a_row_carries_the_figures_as_they_were_kept() {
        let book = four().await;
        let query = LedgerQuery { search: "stout".into(), ..LedgerQuery::default() };
        let row = book.store.ledger(&query).await.unwrap().rows.remove(0);
        assert_eq!((row.name.as_str(), row.recipe.as_str(), row.volume_l), ("C", "Stout", 20.0));
        assert_eq!((row.original_sg, row.state, row.curve), (Some(1.07), BatchState::Planned, vec![(0.0, 95.5)]));
        assert_eq!((row.started_at, row.brewed_at), (NOON, NOON));
    }
}
