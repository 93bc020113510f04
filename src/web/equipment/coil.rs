//! What a coil's batches say of it: its K batch by batch, what changed between
//! them, and whether it slowly passes less.

use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use axum::{Router, routing::get};

use crate::brewday::chill_plan::CoilPasses;
use crate::brewday::choices::{CareAct, Choice, Cooling};
use crate::brewday::plausible::Dimension;
use crate::brewday::{Body, Equipment, choices::EquipmentKind};
use crate::science::chilling::learn::slow_fall;
use crate::science::chilling::standard::standard_chill;
use crate::science::units::Conductance;
use crate::store::{CareLine, CoilRun};
use crate::web::chart::{Column, Estimate, Picture, Table, Trend};
use crate::web::stage_labels::stage_labels;
use crate::web::when::{Moment, utc};
use crate::web::{App, AppError, Frame};

/// More batches than this are folded away, the newest shown.
const SHOWN: usize = 6;
/// Fewest batches a slow fall can be told from.
const FEWEST_FOR_A_FALL: usize = 4;
/// Doing this to a coil may change what it passes.
const CLEANING: [CareAct; 2] = [CareAct::Cleaned, CareAct::Flushed];

pub(super) fn router() -> Router<App> {
    Router::new().route("/equipment/{id}/batches.csv", get(batches_csv))
}

/// A coil over its batches.
#[derive(Clone, Debug)]
pub(super) struct CoilTold {
    pub(super) picture: Picture,
    /// What a plan takes it at, in a sentence.
    pub(super) planned_with: String,
    /// Whether it slowly gets worse, in a sentence.
    pub(super) trend: String,
    /// Whether that is a fall to do something about.
    pub(super) is_falling: bool,
    /// Newest first.
    rows: Vec<CoilRow>,
    /// The newest batches, to compare.
    pub(super) compare: Option<String>,
}

/// One batch of a coil.
#[derive(Clone, Debug)]
pub(super) struct CoilRow {
    pub(super) batch: i64,
    pub(super) name: String,
    pub(super) date: Moment,
    /// "118 ± 4"
    pub(super) conductance: String,
    /// "24 min"
    pub(super) standard: String,
    /// "bath 1 121 ± 6 · ice bath 117 ± 9"
    pub(super) stages: String,
    /// What is different from the batch before it.
    pub(super) changed: String,
}

impl CoilTold {
    /// What the batches of a piece say; `None` where it is nothing to chill with, or no batch tells yet.
    pub(super) async fn read(app: &App, frame: &Frame, id: i64, piece: &Equipment) -> Result<Option<Self>, AppError> {
        if !matches!(piece.kind, EquipmentKind::Coil | EquipmentKind::PlateChiller) {
            return Ok(None);
        }
        let runs = app.store.coil_history(id).await?;
        let care = app.store.care_between(id, &runs).await?;
        Ok((!runs.is_empty()).then(|| Self::of(frame, &piece.name, &runs, &care)))
    }

    /// From its runs, newest first, and its care in order.
    fn of(frame: &Frame, name: &str, runs: &[CoilRun], care: &[CareLine]) -> Self {
        let in_baths = || runs.iter().filter(|run| run.is_of_baths()).map(|run| run.conductance_w_per_k);
        let learned = CoilPasses::learned(in_baths());
        let (trend, is_falling) = fall(in_baths().collect());
        let newest: Vec<String> = runs.iter().take(5).map(|run| format!("batch={}", run.batch)).collect();
        Self {
            picture: picture(name, runs, learned.as_ref()),
            planned_with: learned.map_or_else(
                || "No bath tells of it yet, so a chill plan takes a usual figure (common practice).".to_owned(),
                |learned| format!("A chill plan takes it at {}.", learned.in_short()),
            ),
            trend,
            is_falling,
            rows: rows(frame, runs, care),
            compare: (newest.len() > 1).then(|| format!("/compare?{}", newest.join("&"))),
        }
    }

    pub(super) fn newest(&self) -> &[CoilRow] {
        &self.rows[..self.rows.len().min(SHOWN)]
    }

    pub(super) fn older(&self) -> &[CoilRow] {
        &self.rows[self.rows.len().min(SHOWN)..]
    }
}

fn picture(name: &str, runs: &[CoilRun], learned: Option<&CoilPasses>) -> Picture {
    let labels: Vec<String> = runs.iter().rev().map(|run| run.batch.to_string()).collect();
    let estimates = runs.iter().rev().zip(&labels);
    let estimates: Vec<Estimate<'_>> = estimates
        .map(|(run, label)| Estimate {
            label,
            value: run.conductance_w_per_k,
            error: run.se_w_per_k,
            is_apart: !run.is_of_baths(),
        })
        .collect();
    let trend = Trend {
        title: &format!("Heat passed by the {name}, batch by batch"),
        what: "K",
        unit: "W/K",
        along: "batch",
        estimates: &estimates,
        level: learned.map(|learned| ("what a plan takes", learned.conductance_w_per_k)),
        // A coil in running water passes more than the same coil in a bath.
        apart: "in running water",
    };
    trend.svg()
}

/// Whether the coil passes less from batch to batch, of its conductances newest first.
fn fall(mut newest_first: Vec<f64>) -> (String, bool) {
    newest_first.reverse();
    let batches = newest_first.len();
    let told: Vec<Conductance> = newest_first.iter().copied().map(Conductance::from_watts_per_kelvin).collect();
    if batches < FEWEST_FOR_A_FALL {
        return (
            format!(
                "Whether it slowly passes less can be told from {FEWEST_FOR_A_FALL} batches in baths; there {} so far.",
                match batches {
                    0 => "is none".to_owned(),
                    1 => "is one".to_owned(),
                    more => format!("are {more}"),
                }
            ),
            false,
        );
    }
    let Some(fall) = slow_fall(&told) else {
        return (format!("Over its {batches} batches it does not fall by more than chance."), false);
    };
    let chance = (1.0 / fall.by_chance).min(1000.0);
    let sentence = format!(
        "It passes about {:.1}\u{a0}% less with every batch, {:.0}\u{a0}% over these {batches}; by chance that happens less \
         than once in {}. Scale inside, or a pump that tires: descale the coil and rinse it well, then time how \
         long the pump takes to fill a bucket. If the bucket fills as fast as it used to, it was the coil.",
        100.0 * fall.per_batch,
        100.0 * fall.in_all,
        if chance >= 1000.0 { "1000".to_owned() } else { format!("{:.0}", chance.floor()) },
    );
    (sentence, true)
}

fn rows(frame: &Frame, runs: &[CoilRun], care: &[CareLine]) -> Vec<CoilRow> {
    let row = |(index, run): (usize, &CoilRun)| {
        let minutes = standard_chill(Conductance::from_watts_per_kelvin(run.conductance_w_per_k));
        CoilRow {
            batch: run.batch,
            name: run.name.clone(),
            date: frame.clock.date(run.at),
            conductance: figure(frame, run.conductance_w_per_k, run.se_w_per_k),
            standard: minutes
                .map(|time| frame.show(time.minutes().round(), Dimension::Minutes).to_string())
                .unwrap_or_default(),
            stages: stages(frame, run),
            changed: changed(frame, run, runs.get(index + 1), care).join("; "),
        }
    };
    runs.iter().enumerate().map(row).collect()
}

/// "118 ± 4"
fn figure(frame: &Frame, value: f64, se: Option<f64>) -> String {
    frame.say_measured(value, se.unwrap_or_default(), Dimension::Plain)
}

fn stages(frame: &Frame, run: &CoilRun) -> String {
    let labels = stage_labels(run.stages.iter().map(|stage| stage.method));
    let coils = labels.iter().zip(&run.stages).filter(|(_, stage)| stage.method != Cooling::Air);
    let told = coils.filter_map(|(label, stage)| {
        let value = stage.conductance_w_per_k?;
        Some(format!("{label} {}", figure(frame, value, stage.conductance_se_w_per_k)))
    });
    told.collect::<Vec<_>>().join(" · ")
}

/// What is different from the batch before: care in between, other pumps and
/// hoses, and whether the baths were stirred.
fn changed(frame: &Frame, run: &CoilRun, before: Option<&CoilRun>, care: &[CareLine]) -> Vec<String> {
    let mut told = Vec::new();
    let between =
        care.iter().filter(|line| line.entry.at <= run.at && before.is_none_or(|before| line.entry.at > before.at));
    let mut done: Vec<(String, Vec<String>)> = Vec::new();
    for act in CLEANING {
        let last = between.clone().rfind(|line| matches!(&line.entry.body, Body::Care(care) if care.act == act));
        let Some(date) = last.map(|line| frame.clock.date(line.entry.at).text) else { continue };
        match done.iter_mut().find(|(day, _)| *day == date) {
            Some((_, acts)) => acts.push(act.label().to_lowercase()),
            None => done.push((date, vec![act.label().to_lowercase()])),
        }
    }
    told.extend(done.into_iter().map(|(date, acts)| format!("{} {date}", acts.join(" and "))));
    if let Some(before) = before {
        let beyond = |these: &[String], those: &[String]| -> Vec<String> {
            these.iter().filter(|name| !those.contains(name)).cloned().collect()
        };
        let (new, gone) = (beyond(&run.along, &before.along), beyond(&before.along, &run.along));
        if !new.is_empty() {
            told.push(format!("with {}", new.join(", ")));
        }
        if !gone.is_empty() {
            told.push(format!("without {}", gone.join(", ")));
        }
    }
    match (run.stirred, before.map(|before| before.stirred)) {
        (0, Some(more)) if more > 0 => told.push("no bath stirred".to_owned()),
        (1, _) => told.push("a bath stirred once".to_owned()),
        (more, _) if more > 1 => told.push(format!("baths stirred {more} times")),
        _ => {}
    }
    told
}

async fn batches_csv(State(app): State<App>, frame: Frame, Path(id): Path<i64>) -> Result<Response, AppError> {
    app.store.equipment(id).await?.ok_or(AppError::NotFound)?;
    let runs = app.store.coil_history(id).await?;
    let care = app.store.care_between(id, &runs).await?;
    let head = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8; header=present".to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"coil-{id}.csv\"")),
    ];
    Ok((head, table(&frame, &runs, &care).csv()).into_response())
}

/// A row for each stage of each batch that tells of the coil, oldest first, beside
/// the batch's own figure.
fn table(frame: &Frame, runs: &[CoilRun], care: &[CareLine]) -> Table {
    let column = |head: &str, figures| Column { head: head.to_owned(), figures };
    let figure = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
    let mut rows = Vec::new();
    for (index, run) in runs.iter().enumerate().rev() {
        let changed = changed(frame, run, runs.get(index + 1), care).join("; ");
        let mut row = |stage: &str, value: Option<f64>, se: Option<f64>| {
            rows.push(vec![
                run.batch.to_string(),
                run.name.clone(),
                utc(run.at),
                stage.to_owned(),
                figure(value),
                figure(se),
                changed.clone(),
            ]);
        };
        row("all", Some(run.conductance_w_per_k), run.se_w_per_k);
        let labels = stage_labels(run.stages.iter().map(|stage| stage.method));
        for (label, stage) in labels.iter().zip(&run.stages).filter(|(_, stage)| stage.method != Cooling::Air) {
            row(label, stage.conductance_w_per_k, stage.conductance_se_w_per_k);
        }
    }
    Table {
        caption: String::new(),
        columns: vec![
            column("batch", true),
            column("name", false),
            column("brewed_at", false),
            column("stage", false),
            column("conductance_w_per_k", true),
            column("conductance_se_w_per_k", true),
            column("changed", false),
        ],
        rows,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slow_fall_is_said_only_where_it_is_more_than_chance() {
        let (told, falling) = fall(vec![103.0, 105.0, 108.0, 114.0, 118.0, 124.0, 127.0, 131.0, 133.0]);
        assert!(falling && told.contains("Scale inside, or a pump that tires"), "{told}");
        // Nine in falling order: once in 9! = 362 880.
        assert!(told.contains("once in 1000"), "{told}");
        let (told, falling) = fall(vec![151.0, 149.0, 152.0, 150.0]);
        assert!(!falling && told.contains("does not fall by more than chance"), "{told}");
        let (told, falling) = fall(vec![90.0, 120.0]);
        assert!(!falling && told.contains("there are 2 so far"), "{told}");
    }
}
