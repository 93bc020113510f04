//! Pitch: what is in the fermenter, whether the wort is clear to pitch, and the yeast.

use askama::Template;

use super::frame::StageFrame;
use super::panel::{Panel, in_turn};
use crate::brewday::Body;
use crate::brewday::choices::{Choice, GravityPoint, Place, VolumePoint};
use crate::brewday::plausible::Dimension;
use crate::web::clearance::{self, ClearanceTold};
use crate::web::{Frame, Page};

#[derive(Template)]
#[template(path = "stages/pitch.html")]
pub(super) struct PitchPage {
    frame: Frame,
    page: StageFrame,
    clearance: Vec<ClearanceTold>,
    panels: Vec<Panel>,
    pitch: Panel,
}

pub(super) fn page(page: StageFrame) -> Page<PitchPage> {
    Page(PitchPage {
        clearance: clearance::told(&page.day, &page.summary, &page.frame),
        panels: in_turn(panels(&page)),
        pitch: pitch(&page),
        frame: page.frame.clone(),
        page,
    })
}

impl PitchPage {
    fn is_clear(&self) -> bool {
        self.clearance.iter().all(ClearanceTold::is_done)
    }

    fn cells_needed(&self) -> Option<String> {
        self.page.summary.yeast.cells_needed_billion.map(|cells| format!("{cells:.0}"))
    }
}

/// How warm the wort is, as a form is filled with it: as the thermometer last showed.
/// What a note on aeration begins with, so that it is known again.
const AERATED: &str = "Aerated: ";

fn wort_now(page: &StageFrame) -> String {
    let wort = page.day.temperatures(Place::Wort).next_back();
    wort.map_or_else(String::new, |reading| page.frame.as_typed(reading.shown_c, Dimension::Temperature))
}

fn panels(page: &StageFrame) -> Vec<Panel> {
    let wort = wort_now(page);
    vec![
        Panel::new(page, "into_fermenter", "volume", "Into the fermenter")
            .of("point", VolumePoint::IntoFermenter)
            .filled("temperature_c", wort.as_str())
            .last(page, |entry| matches!(entry.body, Body::Volume { point: VolumePoint::IntoFermenter, .. })),
        Panel::new(page, "original", "gravity", "Original gravity")
            .of("point", GravityPoint::IntoFermenter)
            .filled("instrument", page.usual_instrument().key())
            .filled("temperature_c", wort.as_str())
            .last(page, |entry| matches!(entry.body, Body::Gravity { point: GravityPoint::IntoFermenter, .. })),
        Panel::new(page, "aeration", "note", "Aeration")
            .hint("How the wort was given air or oxygen, and for how long.")
            .filled("note", AERATED)
            .last(page, |entry| entry.note.as_ref().is_some_and(|note| note.starts_with(AERATED.trim_end()))),
    ]
}

fn pitch(page: &StageFrame) -> Panel {
    let recipe = page.day.batch.scaled_recipe();
    let yeast = recipe.yeast.as_ref();
    let text =
        |value: Option<f64>, dimension| value.map_or_else(String::new, |value| page.frame.as_typed(value, dimension));
    let yeast_c = page.day.temperatures(Place::Yeast).next_back().map(|reading| reading.shown_c);
    Panel::new(page, "pitched", "pitched", "Pitch")
        .filled("yeast", yeast.map_or("", |yeast| yeast.name.as_str()))
        .filled("cells_billion", text(yeast.and_then(|yeast| yeast.cells_billion), Dimension::Plain))
        .filled("mass_kg", text(yeast.and_then(|yeast| yeast.mass_kg), Dimension::SmallMass))
        .filled("yeast_c", text(yeast_c, Dimension::Temperature))
        .filled("wort_c", wort_now(page))
        .button("The yeast is in")
        .last(page, |entry| matches!(entry.body, Body::Pitched(_)))
}
