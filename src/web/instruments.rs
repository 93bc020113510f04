//! What is said of the day's instruments, where readings are logged and figures shown.

use super::Frame;
use crate::brewday::BrewDay;
use crate::brewday::choices::EquipmentKind;
use crate::brewday::instruments::CORRECTED;
use crate::brewday::plausible::Dimension;

/// What is taken off the readings, and what is not because two instruments differ.
pub(crate) fn notes(day: &BrewDay, frame: &Frame) -> Vec<String> {
    let differ =
        CORRECTED.into_iter().filter(|kind| day.batch.instruments_differ(*kind)).map(|kind| apart(kind, frame));
    corrected(day, frame).into_iter().chain(differ).collect()
}

fn corrected(day: &BrewDay, frame: &Frame) -> Option<String> {
    let off = day.batch.offset(EquipmentKind::Thermometer);
    let show = |kelvins: f64| frame.show(kelvins, Dimension::TemperatureDifference);
    let (size, way) = (show(off.abs()), if off > 0.0 { "much" } else { "little" });
    (off != 0.0).then(|| {
        format!(
            "Your thermometer shows {size} too {way}. Log what it shows: figures and advice are corrected by {}, \
             and every target is the true temperature.",
            show(-off)
        )
    })
}

/// Two instruments of a kind, and no way to know which was read.
fn apart(kind: EquipmentKind, frame: &Frame) -> String {
    let (name, instead) = match kind {
        EquipmentKind::Thermometer => ("thermometers", "nothing is taken off".to_owned()),
        EquipmentKind::Hydrometer => {
            ("hydrometers", format!("readings are taken as marked for {} and right", frame.reference()))
        }
        _ => ("refractometers", "readings are taken as right, with the usual wort factor".to_owned()),
    };
    format!("This batch has {name} that differ, and the log can’t tell which one was read: {instead}.")
}
