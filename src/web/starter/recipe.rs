//! A recipe to begin with: nobody has to write one before the first batch.

use crate::brewday::{
    Recipe, Typed,
    choices::{FermentableUse, HopForm, HopUse, OtherUse, YeastForm, YeastKind},
    recipe::{Fermentable, Hop, MashRest, Other, Yeast},
};

/// A plain pale ale of 20 L (common practice, no source), to brew as it is or to make one's own.
#[must_use]
pub fn recipe() -> Recipe {
    let malt = |name: &str, mass_kg, yield_pct, colour_ebc| Fermentable {
        name: name.into(),
        mass_kg,
        yield_pct,
        moisture_pct: 4.0,
        colour_ebc,
        used: FermentableUse::Mash,
    };
    let hop = |name: &str, mass_kg, alpha_pct, used, min| Hop {
        name: name.into(),
        mass_kg,
        alpha_pct,
        form: HopForm::Pellet,
        used,
        min,
    };
    Recipe {
        name: "First pale ale".into(),
        style: Some("Pale ale".into()),
        volume_l: 20.0,
        boil_min: 60.0,
        mash_water_l: None,
        sparge_water_l: None,
        target_pitch_c: 19.0,
        pitch_low_c: 17.0,
        pitch_high_c: 21.0,
        notes: Some("One malt, a little crystal for colour, one hop. Make it your own: every change is kept.".into()),
        fermentables: vec![malt("Pale malt", 4.2, 80.5, 6.0), malt("Light crystal malt", 0.25, 76.0, 100.0)],
        hops: vec![
            hop("Bittering hop", 0.025, 10.0, HopUse::Boil, 60.0),
            hop("Aroma hop", 0.02, 6.0, HopUse::Boil, 10.0),
            hop("Aroma hop", 0.03, 6.0, HopUse::FlameOut, 0.0),
        ],
        mash_rests: vec![MashRest { temperature_c: 67.0, min: 60.0 }],
        yeast: Some(Yeast {
            name: "Dry ale yeast".into(),
            kind: YeastKind::Ale,
            form: YeastForm::Dry,
            cells_billion: None,
            mass_kg: Some(0.0115),
        }),
        other: vec![Other { name: "Carrageenan finings".into(), mass_kg: 0.004, used: OtherUse::Boil, min: 10.0 }],
        typed: Typed::new(),
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn it_is_a_recipe_the_book_takes() {
        let recipe = super::recipe();
        let body = serde_json::to_value(&recipe).unwrap();
        assert_eq!(crate::brewday::Recipe::from_body(&body).unwrap(), recipe);
    }
}
