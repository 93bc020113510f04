//! The day's water, reckoned back from the fermenter to the strike.

use std::fmt;

use crate::science::extract::{self, Fermentable};
use crate::science::units::{FlowRate, Mass, Plato, Temperature, TimeSpan, Volume};
use crate::science::wort::{self, Wort};

/// Litres that a kilogram of malt keeps back: water put in, less wort run off,
/// displacement and all. Common practice, no source; measure your own.
pub const ABSORPTION_L_PER_KG: f64 = 1.0;

/// What a water plan starts from. All volumes at 20 °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted<'a> {
    /// Cold wort into the fermenter.
    pub into_fermenter: Volume,
    /// Wort that stays in kettle, hoses and coil for good.
    pub kettle_loss: Volume,
    /// How long it boils.
    pub boil: TimeSpan,
    /// What the boil takes off in a time.
    pub boil_off: FlowRate,
    /// What goes into the mash.
    pub grist: &'a [Fermentable],
    /// What goes into the kettle: sugars, malt extract.
    pub kettle_goods: &'a [Fermentable],
    /// Water for the mash.
    pub mash_water: Volume,
    /// Litres kept back by a kilogram of grist, see [`ABSORPTION_L_PER_KG`].
    pub absorption_l_per_kg: f64,
    /// Wort under the false bottom that no sparge brings out.
    pub mash_dead_space: Volume,
    /// Share of the grist's potential that reaches the kettle, 0 to 1.
    pub into_kettle: f64,
}

/// The water to heat and the worts to expect. All volumes at 20 °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaterPlan {
    /// Into the mash.
    pub mash: Volume,
    /// Over the grains afterwards.
    pub sparge: Volume,
    /// The wort expected in the kettle before the boil.
    pub pre_boil: Wort,
    /// The wort expected after it, kettle goods dissolved.
    pub post_boil: Wort,
}

impl WaterPlan {
    /// What the dipstick should show before the boil at a temperature.
    #[must_use]
    pub fn pre_boil_at(&self, at: Temperature) -> Volume {
        self.pre_boil.volume_at(at)
    }
}

/// Why there is no plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LiquorError {
    /// The mash water alone gives more wort than is wanted: the most to use.
    TooMuchMashWater(Volume),
    /// Kettle goods would overfill the post-boil volume.
    TooMuchKettleGoods,
    /// A negative or missing figure, named.
    Negative(&'static str),
}

impl fmt::Display for LiquorError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooMuchMashWater(most) => {
                let litres = most.litres().max(0.0);
                write!(f, "the mash water alone fills the kettle; use at most {litres:.1} L")
            }
            Self::TooMuchKettleGoods => {
                write!(f, "the sugars for the kettle leave no room for wort")
            }
            Self::Negative(which) => write!(f, "{which} is less than nothing"),
        }
    }
}

impl std::error::Error for LiquorError {}

/// Plans the water: from the fermenter back over losses, boil-off and grains.
///
/// ```text
/// V_post = V_ferm + loss          V_pre = V_post + q t − V_goods
/// V_water = V_pre + a m + dead space,   sparge = V_water − mash
/// E_pre = η Σ potential(grist),   E_post = E_pre + Σ potential(kettle goods)
/// ```
/// Litres at 20 °C and kilograms; `q` boil-off, `t` boiling time, `a` absorption
/// (L/kg), `m` grist (kg), `V_goods` the room that dissolved kettle goods take
/// up. Volume balance with mass balance for the extract; absorption is common
/// practice, no source. What the dipstick shows hot is
/// [`WaterPlan::pre_boil_at`], 4 % more at the boil [Emmerich-1994].
///
/// # Errors
/// More mash water or kettle goods than fit; a negative figure.
///
/// ```
/// use gylebook::science::extract::Fermentable;
/// use gylebook::science::mash::liquor::{self, Wanted};
/// use gylebook::science::units::{FlowRate, Mass, Temperature, TimeSpan, Volume};
/// let l = Volume::from_litres;
/// let malt = Fermentable {
///     mass: Mass::from_kilograms(4.5), dry_yield: 0.81, moisture: 0.045,
/// };
/// let plan = liquor::plan(&Wanted {
///     into_fermenter: l(20.0),
///     kettle_loss: l(1.5),
///     boil: TimeSpan::from_minutes(60.0),
///     boil_off: FlowRate::from_litres_per_hour(3.0),
///     grist: &[malt],
///     kettle_goods: &[],
///     mash_water: l(15.0),
///     absorption_l_per_kg: liquor::ABSORPTION_L_PER_KG,
///     mash_dead_space: l(0.5),
///     into_kettle: 0.80,
/// })
/// .unwrap();
/// assert!((plan.sparge.litres() - 14.5).abs() < 1e-9);
/// assert!((plan.pre_boil.volume.litres() - 24.5).abs() < 1e-9);
/// assert!((plan.pre_boil_at(Temperature::from_celsius(100.0)).litres() - 25.52).abs() < 0.01);
/// assert!((plan.post_boil.strength.degrees() - 12.4).abs() < 0.1);
/// ```
pub fn plan(wanted: &Wanted<'_>) -> Result<WaterPlan, LiquorError> {
    let figures = [
        ("wort into the fermenter", wanted.into_fermenter.litres()),
        ("kettle loss", wanted.kettle_loss.litres()),
        ("boiling time", wanted.boil.minutes()),
        ("boil-off", wanted.boil_off.litres_per_hour()),
        ("mash water", wanted.mash_water.litres()),
        ("absorption", wanted.absorption_l_per_kg),
        ("mash dead space", wanted.mash_dead_space.litres()),
        ("share into the kettle", wanted.into_kettle),
    ];
    if let Some((which, _)) = figures.into_iter().find(|(_, figure)| *figure < 0.0) {
        return Err(LiquorError::Negative(which));
    }
    let from_mash = extract::potential(wanted.grist) * wanted.into_kettle;
    let from_goods = extract::potential(wanted.kettle_goods);
    let goods_water: Mass = wanted.kettle_goods.iter().map(|each| each.water()).sum();

    let post_volume = wanted.into_fermenter + wanted.kettle_loss;
    let post_boil = Wort::holding(from_mash + from_goods, post_volume);
    // The same wort without the goods, so that they take the room they really do.
    let water = post_boil.water() - goods_water;
    if water <= Mass::ZERO {
        return Err(LiquorError::TooMuchKettleGoods);
    }
    let without_goods = Wort::of(from_mash, water).volume;
    let pre_volume = without_goods + wanted.boil_off * wanted.boil;
    let pre_boil = Wort::holding(from_mash, pre_volume);

    let grist: Mass = wanted.grist.iter().map(|each| each.mass).sum();
    let kept = Volume::from_litres(wanted.absorption_l_per_kg * grist.kilograms()) + wanted.mash_dead_space;
    let sparge = pre_volume + kept - wanted.mash_water;
    if sparge < Volume::ZERO {
        return Err(LiquorError::TooMuchMashWater(pre_volume + kept));
    }
    Ok(WaterPlan { mash: wanted.mash_water, sparge, pre_boil, post_boil })
}

/// Hot volume read in a kettle, less what lies below its outlet, at 20 °C.
///
/// `V₂₀ = (V − d) ρ(w,t)/ρ(w,20)` [Emmerich-1994], never less than nothing; see
/// [`wort::shrinkage`].
///
/// ```
/// use gylebook::science::{mash::liquor, units::{Plato, Temperature, Volume}};
/// let l = Volume::from_litres;
/// let boil = Temperature::from_celsius(100.0);
/// let usable = liquor::usable(l(26.0), l(1.0), boil, Plato::from_degrees(12.0));
/// assert!((usable.litres() - 24.0).abs() < 0.01);
/// ```
#[must_use]
pub fn usable(read: Volume, dead_space: Volume, at: Temperature, strength: Plato) -> Volume {
    (read - dead_space).max(Volume::ZERO) * wort::shrinkage(strength, at)
}
