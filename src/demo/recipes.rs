//! The recipes of Slate Yard, each revision with the day it was written.

use serde_json::{Value, json};

use super::{DemoError, sound};
use crate::brewday::Recipe;

/// Which recipe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Name {
    Pale,
    Lager,
    Strong,
    Table,
    Golden,
    Stout,
}

/// One revision of a recipe.
pub(super) struct Revision {
    /// How many days before now it was written.
    pub(super) days_ago: i64,
    pub(super) name: Name,
    pub(super) recipe: Recipe,
}

/// Every revision, oldest first.
pub(super) fn revisions() -> Result<Vec<Revision>, DemoError> {
    let written = [
        (372, Name::Pale, pale(0)),
        (371, Name::Table, table()),
        (330, Name::Strong, strong()),
        (300, Name::Lager, lager()),
        (252, Name::Pale, pale(1)),
        (225, Name::Stout, stout()),
        (196, Name::Golden, golden()),
        (70, Name::Pale, pale(2)),
    ];
    let read = |(days_ago, name, body): (i64, Name, Value)| {
        Ok(Revision { days_ago, name, recipe: sound("recipe", Recipe::from_body(&body))? })
    };
    written.into_iter().map(read).collect()
}

fn malt(name: &str, mass_kg: f64, yield_pct: f64, colour_ebc: f64) -> Value {
    json!({
        "name": name, "mass_kg": mass_kg, "yield_pct": yield_pct, "moisture_pct": 4.5,
        "colour_ebc": colour_ebc, "use": "mash",
    })
}

fn boiled(name: &str, grams: f64, alpha_pct: f64, min: f64) -> Value {
    json!({
        "name": name, "mass_kg": grams / 1000.0, "alpha_pct": alpha_pct, "form": "pellet", "use": "boil", "min": min,
    })
}

fn at_flame_out(name: &str, grams: f64, alpha_pct: f64) -> Value {
    let mut hop = boiled(name, grams, alpha_pct, 0.0);
    hop["use"] = json!("flame_out");
    hop
}

fn finings() -> Value {
    json!([{"name": "Carrageen finings", "mass_kg": 0.002, "use": "boil", "min": 10}])
}

/// The house pale ale: first drier and bitterer, then with wheat, then with fewer hops in the boil.
fn pale(revision: usize) -> Value {
    let (style, notes, wheat_kg, caramel_kg, bitter_g, late_g) = [
        ("Pale ale", "First go. Mash 66 °C.", 0.0, 0.25, 28.0, 20.0),
        ("Pale ale", "Head was gone in a minute: wheat in, half of the caramel malt out.", 0.30, 0.12, 26.0, 30.0),
        ("Pale ale", "Bitterness lingered. Less at 60 min, more when the flame is out.", 0.30, 0.12, 18.0, 55.0),
    ][revision.min(2)];
    let mut fermentables = vec![malt("Pale malt", 4.2, 81.0, 6.0), malt("Caramel malt", caramel_kg, 74.0, 120.0)];
    if wheat_kg > 0.0 {
        fermentables.push(malt("Wheat malt", wheat_kg, 83.0, 4.0));
    }
    json!({
        "name": "Yard Pale", "style": style, "notes": notes, "volume_l": 20, "boil_min": 60, "mash_water_l": 13.5,
        "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
        "fermentables": fermentables,
        "hops": [
            boiled("Bittering hop", bitter_g, 9.5, 60.0),
            boiled("Late hop A", late_g, 5.5, 10.0),
            at_flame_out("Late hop B", late_g, 7.0),
        ],
        "mash_rests": [{"temperature_c": 66, "min": 60}],
        "yeast": {"name": "House ale yeast", "kind": "ale", "form": "liquid", "cells_billion": 200},
        "other": finings(),
    })
}

fn lager() -> Value {
    json!({
        "name": "Cellar Lager", "style": "Pale lager", "volume_l": 20, "boil_min": 90, "mash_water_l": 14,
        "notes": "Only pitch cold: 10 °C in the kettle, not 10 °C on the way down.",
        "target_pitch_c": 10, "pitch_low_c": 8, "pitch_high_c": 12,
        "fermentables": [malt("Lager malt", 4.3, 81.5, 3.5), malt("Light Munich-type malt", 0.3, 80.0, 15.0)],
        "hops": [
            boiled("Noble-type hop A", 45.0, 4.2, 60.0),
            boiled("Noble-type hop A", 25.0, 4.2, 20.0),
            boiled("Noble-type hop B", 20.0, 3.6, 5.0),
        ],
        "mash_rests": [
            {"temperature_c": 52, "min": 15}, {"temperature_c": 63, "min": 40}, {"temperature_c": 72, "min": 20},
        ],
        "yeast": {"name": "Lager yeast", "kind": "lager", "form": "slurry", "cells_billion": 400},
        "other": finings(),
    })
}

fn strong() -> Value {
    json!({
        "name": "Long Winter", "style": "Strong ale", "volume_l": 12, "boil_min": 90, "mash_water_l": 15,
        "notes": "The bed is deep: sparge slowly or it sets. Keep for half a year.",
        "target_pitch_c": 18, "pitch_low_c": 16, "pitch_high_c": 20,
        "fermentables": [
            malt("Pale malt", 4.7, 81.0, 6.0), malt("Caramel malt", 0.35, 74.0, 120.0),
            malt("Dark kilned malt", 0.25, 78.0, 60.0),
        ],
        "hops": [boiled("Bittering hop", 30.0, 9.5, 75.0), boiled("Late hop A", 15.0, 5.5, 15.0)],
        "mash_rests": [{"temperature_c": 65, "min": 75}],
        "yeast": {"name": "Dry ale yeast", "kind": "ale", "form": "dry", "mass_kg": 0.04},
        "other": finings(),
    })
}

fn table() -> Value {
    json!({
        "name": "Table Beer", "style": "Table beer", "volume_l": 15, "boil_min": 60, "mash_water_l": 9,
        "notes": "Mash hot, so that there is something left to taste.",
        "target_pitch_c": 19, "pitch_low_c": 17, "pitch_high_c": 21,
        "fermentables": [
            malt("Pale malt", 1.55, 81.0, 6.0), malt("Wheat malt", 0.3, 83.0, 4.0), malt("Flaked oats", 0.2, 76.0, 2.0),
        ],
        "hops": [boiled("Late hop A", 20.0, 5.5, 40.0), at_flame_out("Late hop B", 25.0, 7.0)],
        "mash_rests": [{"temperature_c": 69, "min": 45}],
        "yeast": {"name": "Dry ale yeast", "kind": "ale", "form": "dry", "mass_kg": 0.018},
        "other": [],
    })
}

fn golden() -> Value {
    let sugar = json!({
        "name": "White sugar", "mass_kg": 0.5, "yield_pct": 100, "moisture_pct": 0, "colour_ebc": 0, "use": "kettle",
    });
    json!({
        "name": "Hay Barn Golden", "style": "Strong golden ale", "volume_l": 20, "boil_min": 75, "mash_water_l": 13,
        "notes": "Sugar in the last quarter of an hour, stirred until it has dissolved: it burns on the bottom.",
        "target_pitch_c": 21, "pitch_low_c": 19, "pitch_high_c": 24,
        "fermentables": [malt("Lager malt", 4.1, 81.5, 3.5), malt("Wheat malt", 0.25, 83.0, 4.0), sugar],
        "hops": [
            {"name": "Noble-type hop A", "mass_kg": 0.03, "alpha_pct": 4.2, "form": "cone", "use": "first_wort", "min": 75},
            boiled("Bittering hop", 14.0, 9.5, 60.0),
            boiled("Noble-type hop B", 25.0, 3.6, 10.0),
        ],
        "mash_rests": [{"temperature_c": 64, "min": 70}],
        "yeast": {"name": "Farmhouse yeast", "kind": "ale", "form": "liquid", "cells_billion": 230},
        "other": finings(),
    })
}

fn stout() -> Value {
    json!({
        "name": "Night Shift Stout", "style": "Oat stout", "volume_l": 18, "boil_min": 60, "mash_water_l": 14,
        "notes": "Roasted grain goes in with the rest; watch the mash pH.",
        "target_pitch_c": 19, "pitch_low_c": 16, "pitch_high_c": 20,
        "fermentables": [
            malt("Pale malt", 3.7, 81.0, 6.0), malt("Flaked oats", 0.4, 76.0, 2.0),
            malt("Roasted barley", 0.3, 70.0, 1200.0), malt("Caramel malt", 0.2, 74.0, 120.0),
        ],
        "hops": [boiled("Bittering hop", 32.0, 9.5, 60.0)],
        "mash_rests": [{"temperature_c": 67, "min": 60}],
        "yeast": {"name": "House ale yeast", "kind": "ale", "form": "slurry", "cells_billion": 200},
        "other": [],
    })
}
