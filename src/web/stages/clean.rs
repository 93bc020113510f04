//! Clean: the list, the coil's weight, where things are put, and closing the batch.

use askama::Template;

use super::frame::StageFrame;
use super::panel::Panel;
use crate::brewday::Body;
use crate::brewday::care::{CareCondition, SCALE_DOUBT_KG};
use crate::brewday::choices::{CareAct, Choice, GravityPoint};
use crate::brewday::day::StageState;
use crate::brewday::plausible::Dimension;
use crate::web::{Frame, Page};

#[derive(Template)]
#[template(path = "stages/clean.html")]
pub(super) struct CleanPage {
    frame: Frame,
    page: StageFrame,
    coil: Option<CoilTold>,
    closing: Panel,
}

/// The coil on the scale and on its shelf.
struct CoilTold {
    name: String,
    condition: &'static str,
    weight: Option<String>,
    panels: Vec<Panel>,
}

pub(super) fn page(page: StageFrame) -> Page<CleanPage> {
    Page(CleanPage { coil: coil(&page), closing: closing(&page), frame: page.frame.clone(), page })
}

impl CleanPage {
    fn is_closed(&self) -> bool {
        self.page.state() == StageState::Finished
    }
}

fn coil(page: &StageFrame) -> Option<CoilTold> {
    let record = page.day.batch.chiller()?;
    let id = record.id;
    let care = page.day.care(record, None);
    let mass = |kg: f64| page.frame.show(kg, Dimension::Mass);
    // What it weighed before it was used again says nothing of it now.
    let weighed = care.mass_kg.filter(|_| care.condition != CareCondition::Dirty);
    let weight = weighed.zip(record.equipment.dry_mass_kg).map(|(now, dry)| {
        let held = now - dry;
        if held > SCALE_DOUBT_KG {
            format!(
                "{} on the scale, {} dry: {} of water is still in it. Blow it out again.",
                mass(now),
                mass(dry),
                mass(held)
            )
        } else {
            format!("{} on the scale, {} dry: it is empty.", mass(now), mass(dry))
        }
    });
    let act = |scope, act: CareAct, title: &str| {
        Panel::new(page, scope, "care", title)
            .with("equipment", id.to_string())
            .of("act", act)
            .last(page, move |entry| matches!(&entry.body, Body::Care(care) if care.equipment == id && care.act == act))
    };
    Some(CoilTold {
        name: record.equipment.name.clone(),
        condition: care.condition.label(),
        weight,
        panels: vec![
            act("weighed", CareAct::Weighed, "Weigh the coil")
                .without("where")
                .hint("Heavier than dry means water inside: it will go foul."),
            act("stored", CareAct::Stored, "Put the coil away").without("mass_kg"),
        ],
    })
}

fn closing(page: &StageFrame) -> Panel {
    Panel::new(page, "final", "gravity", "Final gravity")
        .of("point", GravityPoint::Final)
        .of("instrument", crate::brewday::choices::Instrument::Hydrometer)
        .filled("temperature_c", page.frame.as_typed(20.0, Dimension::Temperature))
        .hint("When fermentation is over, days or weeks from now. With a hydrometer: alcohol bends a refractometer.")
        .last(page, |entry| matches!(entry.body, Body::Gravity { point: GravityPoint::Final, .. }))
}
