//! `/equipment/{id}`: one piece, its figures, its care and how that is written down.

use askama::Template;
use axum::{
    Router,
    extract::{Path, Query, State},
    response::{IntoResponse, Response},
    routing::{get, post},
};
use serde::Deserialize;
use uuid::Uuid;

use super::care;
use super::coil::CoilTold;
use super::history::{self, CareDay, CareEntry};
use super::kinds::{self, Need};
use crate::brewday::{care::Weighing, choices::Choice, plausible::Dimension};
use crate::store::{EquipmentUse, StoredEquipment};
use crate::web::{App, AppError, Frame, Page, care::CareTold, form::Form, see_other, units::Shown, when::Moment};

/// The newest care that a page shows: a year of brewing every other week.
const CARE_SHOWN: u32 = 100;
/// The newest batches that it shows.
const USES_SHOWN: u32 = 30;

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/equipment/{id}", get(show))
        .route("/equipment/{id}/retire", post(retire))
        .route("/equipment/{id}/return", post(take_back))
}

/// One piece. A care form that came back is shown on it, too.
#[derive(Template)]
#[template(path = "equipment/piece.html")]
pub(super) struct PiecePage {
    frame: Frame,
    stored: StoredEquipment,
    told: CareTold,
    /// What was written about its care, the latest first.
    history: Vec<CareEntry>,
    /// How much there is of that in all.
    history_total: usize,
    /// The batches wort touched it in, the latest first.
    uses: Vec<EquipmentUse>,
    /// How many there are of those in all.
    uses_total: usize,
    /// What its batches say of a coil.
    coil: Option<CoilTold>,
    form: Form,
    /// The care entry that was kept just now.
    kept: Option<CareEntry>,
}

impl PiecePage {
    /// The page with the newest of its care and uses, or with all of both.
    pub(super) async fn read(app: &App, frame: Frame, id: i64, form: Form, all: bool) -> Result<Self, AppError> {
        let most = |newest| if all { u32::MAX } else { newest };
        let stored = app.store.equipment(id).await?.ok_or(AppError::NotFound)?;
        let (history, history_total) = history::read(app, &frame, id, most(CARE_SHOWN)).await?;
        let (uses, uses_total) = app.store.equipment_uses(id, most(USES_SHOWN)).await?;
        let told = CareTold::new(&stored.record, &frame.clock);
        let coil = CoilTold::read(app, &frame, id, &stored.record.equipment).await?;
        Ok(Self { frame, stored, told, history, history_total, uses, uses_total, coil, form, kept: None })
    }

    fn id(&self) -> i64 {
        self.stored.record.id
    }

    fn name(&self) -> &str {
        &self.stored.record.equipment.name
    }

    /// What it is, unless its name says so.
    fn kind(&self) -> Option<&'static str> {
        let kind = self.stored.record.equipment.kind.label();
        (!self.name().to_lowercase().contains(&kind.to_lowercase())).then_some(kind)
    }

    fn days(&self) -> Vec<CareDay> {
        history::by_day(&self.history, &self.frame)
    }

    fn used_on(&self, used: &EquipmentUse) -> Moment {
        self.frame.clock.date(used.used_at)
    }

    fn notes(&self) -> Option<&str> {
        self.stored.record.equipment.notes.as_deref()
    }

    fn caution(&self) -> Option<&'static str> {
        kinds::caution(self.stored.record.equipment.kind)
    }

    fn is_cared_for(&self) -> bool {
        kinds::touches_wort(self.stored.record.equipment.kind) || !self.history.is_empty()
    }

    /// What its kind is asked for and whatever else it holds, each with its figure.
    fn figures(&self) -> Vec<(Need, Option<Shown>)> {
        let equipment = &self.stored.record.equipment;
        let shown = |need: &Need| kinds::figure(equipment, need.name).map(|(value, of)| self.frame.show(value, of));
        let held = kinds::beyond(equipment.kind).filter_map(|need| Some((*need, Some(shown(need)?))));
        kinds::needs(equipment.kind).iter().map(|need| (*need, shown(need))).chain(held).collect()
    }

    /// What the last weighing says, where there was one or should be.
    fn weighing(&self) -> Option<String> {
        let mass = |kilograms| self.frame.show(kilograms, Dimension::Mass);
        let small = |kilograms| self.frame.show(kilograms, Dimension::SmallMass);
        let (care, dry) = (&self.stored.record.care, self.stored.record.equipment.dry_mass_kg);
        let now = care.mass_kg?;
        let Some(dry) = dry else {
            let asked = kinds::needs(self.stored.record.equipment.kind).iter().any(|need| need.name == "dry_mass_kg");
            return asked.then(|| {
                format!("It last weighed {}. Give its dry weight to see whether water is left in it.", mass(now))
            });
        };
        let told = match Weighing::of(now, dry) {
            Weighing::Dry => "as much as clean and dry, as far as a scale can tell".to_owned(),
            Weighing::Heavier(over) => format!("{} more than dry: that much water is still in it", small(over)),
            Weighing::Lighter(under) => {
                format!("{} less than dry: weigh it again, or correct its dry weight", small(under))
            }
        };
        Some(format!("It last weighed {}, {told}.", mass(now)))
    }

    /// How much of care and uses is not shown, where something isn't.
    fn more(&self) -> [Option<usize>; 2] {
        [(self.history_total, self.history.len()), (self.uses_total, self.uses.len())]
            .map(|(total, shown)| (total > shown).then_some(total))
    }
}

#[derive(Deserialize)]
struct Asked {
    kept: Option<Uuid>,
    /// Whether all of its care and uses is wanted.
    #[serde(default)]
    show: String,
}

async fn show(
    State(app): State<App>,
    frame: Frame,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
) -> Result<Response, AppError> {
    let form = care::blank(&frame);
    let page = PiecePage::read(&app, frame, id, form, asked.show == "all").await?;
    let kept = match asked.kept {
        Some(entry) => history::one(&app, &page.frame, id, entry).await?,
        None => None,
    };
    Ok(Page(PiecePage { kept, ..page }).into_response())
}

async fn retire(State(app): State<App>, frame: Frame, Path(id): Path<i64>) -> Result<Response, AppError> {
    let done = app.store.retire_equipment(id, frame.clock.now).await?;
    if done { Ok(see_other("/equipment")) } else { Err(AppError::NotFound) }
}

async fn take_back(State(app): State<App>, Path(id): Path<i64>) -> Result<Response, AppError> {
    let done = app.store.unretire_equipment(id).await?;
    if done { Ok(see_other(&format!("/equipment/{id}"))) } else { Err(AppError::NotFound) }
}
