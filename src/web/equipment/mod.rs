//! `/equipment`: vessels, coils and instruments, and the state each is in.
//!
//! One file a family of pages: this list, [`describe`] (new, edit), [`piece`] (one
//! piece, put away, take out) and [`care`] (what was done for it, and corrections;
//! [`history`] is how that is read back), [`coil`] (what the batches of a coil say of it).
//! What each kind is asked for stands in [`kinds`].

mod care;
mod coil;
mod describe;
mod history;
pub mod kinds;
mod piece;

use askama::Template;
use axum::{
    Router,
    extract::State,
    response::{IntoResponse, Response},
    routing::get,
};

pub use care::acts;

use super::{App, AppError, Frame, Page, care::CareTold};
use crate::brewday::{
    EquipmentRecord,
    choices::{Choice, EquipmentKind},
};
use crate::store::StoredEquipment;

pub(crate) fn router() -> Router<App> {
    Router::new()
        .route("/equipment", get(index))
        .merge(describe::router())
        .merge(piece::router())
        .merge(care::router())
        .merge(coil::router())
}

#[derive(Template)]
#[template(path = "equipment/index.html")]
struct IndexPage {
    frame: Frame,
    groups: Vec<Group>,
    retired: Vec<Line>,
}

/// The pieces of one kind.
struct Group {
    label: &'static str,
    lines: Vec<Line>,
}

/// One piece in a list.
#[derive(Clone, Debug)]
pub struct Line {
    /// Its page.
    pub href: String,
    /// What the brewer calls it.
    pub name: String,
    /// Its figures, in one line.
    pub figures: String,
    /// The state it is in, where that matters or is known.
    pub care: Option<CareTold>,
}

impl Line {
    /// A piece as a list shows it.
    #[must_use]
    pub fn new(record: &EquipmentRecord, frame: &Frame) -> Self {
        let told = CareTold::new(record, &frame.clock);
        let matters = kinds::touches_wort(record.equipment.kind)
            || record.care.since.is_some()
            || record.care.stored_at.is_some();
        Self {
            href: told.href.clone(),
            name: told.name.clone(),
            figures: in_short(record, frame),
            care: Some(told).filter(|_| matters),
        }
    }
}

async fn index(State(app): State<App>, frame: Frame) -> Result<Response, AppError> {
    let stored = app.store.equipment_list(None, false).await?;
    let retired = app.store.equipment_list(None, true).await?;
    let retired = retired.iter().map(|stored| Line::new(&stored.record, &frame)).collect();
    let groups = by_kind(&stored, &frame);
    Ok(Page(IndexPage { frame, groups, retired }).into_response())
}

/// In the order of the kinds; kinds without a piece are left out.
fn by_kind(stored: &[StoredEquipment], frame: &Frame) -> Vec<Group> {
    let lines = |kind: EquipmentKind| -> Vec<Line> {
        let of_kind = stored.iter().filter(|stored| stored.record.equipment.kind == kind);
        of_kind.map(|stored| Line::new(&stored.record, frame)).collect()
    };
    let groups = EquipmentKind::ALL.iter().map(|kind| Group { label: kind.label(), lines: lines(*kind) });
    groups.filter(|group| !group.lines.is_empty()).collect()
}

/// "36.0 L · dead space 1.0 L · boil-off 3.5 L/h"
fn in_short(record: &EquipmentRecord, frame: &Frame) -> String {
    let figures = kinds::needs(record.equipment.kind).iter().filter(|need| need.name != "uncertainty");
    let told = figures.filter_map(|need| {
        let (value, dimension) = kinds::figure(&record.equipment, need.name).filter(|(value, _)| *value != 0.0)?;
        Some(kinds::in_short(need.name, need.label, &frame.show(value, dimension).to_string()))
    });
    told.collect::<Vec<_>>().join(" · ")
}
