//! The small forms behind the bar's buttons, and what they are filled with.

use super::told::hold_up_l;
use crate::brewday::Body;
use crate::brewday::chill_now::ChillNow;
use crate::brewday::choices::{Choice, Cooling, Place};
use crate::brewday::plausible::Dimension;
use crate::science::chilling::advice::Move;
use crate::web::form::{Form, options};
use crate::web::stages::frame::StageFrame;
use crate::web::stages::panel::Panel;

/// Less wort than this in the coil is a wet wall, not wort (common practice, no source).
const WET_WALL_L: f64 = 0.05;

/// A form that comes up when it is called for.
#[derive(Clone, Debug)]
pub(super) struct Call {
    /// The id its link leads to.
    pub(super) id: &'static str,
    /// The form.
    pub(super) panel: Panel,
}

impl Call {
    /// Whether it came back to be looked at again, and so stands open.
    pub(super) fn is_open(&self) -> bool {
        self.panel.form.is_faulty()
    }
}

/// The fields each way of cooling needs.
fn needs(method: Cooling) -> &'static [&'static str] {
    match method {
        Cooling::StillBath => &["water_l", "water_c"],
        Cooling::IceBath => &["water_l", "water_c", "ice_kg"],
        Cooling::RunningWater => &["water_c", "flow_l_min"],
        Cooling::Air => &[],
    }
}

/// Takes out what stands in fields that the chosen way of cooling has no use
/// for: they are filled beforehand, and out of sight.
pub(in crate::web::stages) fn only_what_the_method_needs(form: &mut Form) {
    let Some(method) = Cooling::from_key(form.value("method")) else { return };
    for field in ["water_l", "water_c", "ice_kg", "flow_l_min"] {
        if !needs(method).contains(&field) {
            form.take(field);
        }
    }
}

/// A new bath, filled with the next one at hand, else as the last one was.
pub(super) fn new_bath(page: &StageFrame, now: Option<&ChillNow>) -> Call {
    let frame = &page.frame;
    let text = |value: Option<f64>, dimension| value.map_or_else(String::new, |value| frame.as_typed(value, dimension));
    let next = now.and_then(|now| now.ready.first()).map(|ready| ready.bath);
    let next = next.or_else(|| first_planned(page));
    let last = now.and_then(|now| now.chill.stages.last()).map(|stage| &stage.cooling);
    let ice_kg = next.map(|bath| bath.ice_kg).filter(|ice_kg| *ice_kg > 0.0);
    let is_there = now.and_then(|now| now.outlook.as_ref().ok()).and_then(|outlook| outlook.advice.as_ref().ok());
    let is_there = is_there.is_some_and(|advice| advice.coil == Move::Done);
    let method = match (next, last) {
        _ if is_there => Cooling::Air,
        (Some(_), _) if ice_kg.is_some() => Cooling::IceBath,
        (Some(_), _) | (_, None) => Cooling::StillBath,
        (None, Some(last)) => last.method,
    };
    let water_l = next.map(|bath| bath.water_l).or(last.and_then(|last| last.water_l));
    let water_c = next.map(|bath| bath.water_c).or(page.day.batch.tap_c).or(last.and_then(|last| last.water_c));
    let panel = Panel::new(page, "new_bath", "cooling_started", "New bath")
        .filled("method", method.key())
        .filled("water_l", text(water_l, Dimension::Volume))
        .filled("water_c", text(water_c, Dimension::Temperature))
        .filled("ice_kg", text(ice_kg.or(last.and_then(|last| last.ice_kg)), Dimension::Mass))
        .filled("flow_l_min", text(last.and_then(|last| last.flow_l_min), Dimension::Flow))
        .button("The coil is in");
    Call { id: "new-bath", panel }
}

/// The first bath before anything has begun.
fn first_planned(page: &StageFrame) -> Option<crate::brewday::chill_plan::PlannedBath> {
    let kept = page.day.batch.chill_plan.as_ref();
    let used = page.day.cooling_stages().len();
    kept.and_then(|kept| kept.request.baths.get(used)).copied()
}

/// Ice, a note, and the other thermometers.
pub(super) fn others(page: &StageFrame) -> Vec<Call> {
    let place = |id, scope, place: Place, title: &str| Call {
        id,
        panel: Panel::new(page, scope, "temperature", title)
            .of("place", place)
            .last(page, move |entry| matches!(entry.body, Body::Temperature { place: read, .. } if read == place)),
    };
    vec![
        Call {
            id: "add-ice",
            panel: Panel::new(page, "ice", "ice_added", "Add ice")
                .hint("What goes into the bath now, weighed; stir it in.")
                .button("The ice is in"),
        },
        Call { id: "add-note", panel: Panel::new(page, "note", "note", "Note").button("Keep the note") },
        place("bath-temperature", "bath", Place::Bath, "Bath temperature"),
        place("room-temperature", "room", Place::Room, "Room temperature"),
    ]
}

/// The coil drained: what came out against what it holds.
#[derive(Clone, Debug)]
pub(super) struct Drained {
    pub(super) panel: Panel,
    /// What may still be inside, in a sentence.
    pub(super) told: Option<String>,
}

pub(super) fn drained(page: &StageFrame) -> Drained {
    let litres = |litres: f64| page.frame.show(litres, Dimension::Volume).to_string();
    let held = hold_up_l(page);
    let recovered = page.day.recovered_l();
    let told = match (held, recovered) {
        (Some(held), Some(out)) if held - out > WET_WALL_L => {
            Some(format!("{} of {} came out: {} may still be inside.", litres(out), litres(held), litres(held - out)))
        }
        (Some(held), Some(out)) => Some(format!("{} of {} came out: it is empty.", litres(out), litres(held))),
        (Some(held), None) if page.is_record() => {
            Some(format!("Coil and hoses hold {}. What came out was not written down.", litres(held)))
        }
        (Some(held), None) => Some(format!("Coil and hoses hold {}. Push it out: it is beer.", litres(held))),
        (None, _) => None,
    };
    let panel = Panel::new(page, "drained", "coil_drained", "Coil drained")
        .button("Drained")
        .last(page, |entry| matches!(entry.body, Body::CoilDrained { .. }));
    Drained { panel, told }
}

/// Below this a kettle falls too slowly to be told in ten minutes (common practice, no source).
const STAND_ABOVE_C: f64 = 60.0;

/// The kettle let stand, to measure what it loses by itself.
pub(super) fn stand(page: &StageFrame) -> Panel {
    Panel::new(page, "stand", "cooling_started", "Measure the kettle’s own loss")
        .of("method", Cooling::Air)
        .without("water_l")
        .without("water_c")
        .without("ice_kg")
        .without("flow_l_min")
        .hint(format!(
            "Pump off, coil out of the water, lid as in every chill. Let the hot wort stand ten minutes and read it \
             at both ends: what it falls is the kettle’s own, and no longer laid to the coil. Best above {}; \
             measured once, later batches on this kettle know it.",
            page.frame.mark(STAND_ABOVE_C)
        ))
        .button("It stands now")
}

/// Flame-out, where it was not logged when it happened.
pub(super) fn flame_out(page: &StageFrame) -> Panel {
    Panel::new(page, "flame_out_at", "flame_out", "It was earlier").button("Flame-out was then")
}

impl Call {
    /// Key and words of each way of cooling.
    pub(super) fn methods(&self) -> Vec<(&'static str, &'static str)> {
        options::<Cooling>()
    }
}
