//! The day's figures worked out by hand: published relations written down anew,
//! table values where a table prints them, nothing taken from the program.

/// A US gallon in litres, exact [NIST SP 811].
pub(crate) const GALLON_L: f64 = 3.785_411_784;
/// A pound in kilograms, exact [NIST SP 811].
pub(crate) const POUND_KG: f64 = 0.453_592_37;
/// An ounce in grams, exact [NIST SP 811].
pub(crate) const OUNCE_G: f64 = 28.349_523_125;
/// Water at 20 °C, kg/L [IAPWS-95, tests/published/values/02_water_density.csv].
const WATER_KG_L: f64 = 0.998_207;
/// What a volume at 70 °C and at 100 °C shrinks to at 20 °C: water's density
/// ratio [Kell 1975 and IAPWS-95, tests/published/values/02_water_density.csv].
/// Wort of 10 to 15 °P differs by less than 0.0008.
const FROM_70_C: f64 = 0.979_52;
const FROM_100_C: f64 = 0.960_07;
/// EBC for each SRM: 25 and 12.7 times one absorbance [ASBC Beer-10].
const EBC_PER_SRM: f64 = 25.0 / 12.7;

/// Hydrometer marked at 60 °F, as SG 20/20 for a reading and a sample's
/// temperature [tests/published/values/02_hydrometer_cal_15_56C.csv: glass by
/// ISO 1768:1975, sucrose by ICUMSA SPS-4].
pub(crate) const SG_1060_AT_30_C: f64 = 1.063_69;
pub(crate) const SG_1060_AT_20_C: f64 = 1.060_74;
pub(crate) const SG_1020_AT_25_C: f64 = 1.021_87;

/// °P of an SG: the cubic fitted to the tables [ASBC].
pub(crate) fn plato(sg: f64) -> f64 {
    -616.868 + 1111.14 * sg - 630.272 * sg * sg + 135.997 * sg * sg * sg
}

/// The SG of a refractometer's 10.4 °Bx with a wort factor of 1.04: 10 °P on the
/// cubic, found by halving.
pub(crate) fn pre_boil_sg() -> f64 {
    let (mut low, mut high) = (1.0, 1.1);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if plato(middle) < 10.4 / 1.04 { low = middle } else { high = middle }
    }
    low
}

pub(crate) fn strike_l() -> f64 {
    4.5 * GALLON_L * FROM_70_C
}

pub(crate) fn pre_boil_l() -> f64 {
    7.0 * GALLON_L * FROM_70_C
}

pub(crate) fn post_boil_l() -> f64 {
    5.8 * GALLON_L * FROM_100_C
}

pub(crate) fn into_fermenter_l() -> f64 {
    5.2 * GALLON_L
}

/// Extract in kilograms: volume × density × extract by mass.
pub(crate) fn extract_kg(litres: f64, sg: f64) -> f64 {
    litres * sg * WATER_KG_L * plato(sg) / 100.0
}

/// The recipe is for 5 gal and the batch for 5.5.
const SCALE: f64 = 5.5 / 5.0;

/// Pounds of pale malt, crystal malt and sugar in this batch.
const POUNDS: [f64; 3] = [9.0 * SCALE, 0.5 * SCALE, 1.0 * SCALE];
/// Their colours as typed, SRM.
const MALT_SRM: [f64; 3] = [2.5, 40.0, 0.0];

/// Mass × yield of the dry matter × dry matter [EBC 4.5.1, by definition].
pub(crate) fn mash_potential_kg() -> f64 {
    POUND_KG * (POUNDS[0] * 0.80 + POUNDS[1] * 0.75) * 0.96
}

/// White sugar is extract altogether (by definition).
pub(crate) fn sugar_kg() -> f64 {
    POUND_KG * POUNDS[2]
}

/// First wort of P in W kilograms of water, the malt's 4 % with it: W P/(100 − P).
pub(crate) fn conversion_pct() -> f64 {
    let water = strike_l() * WATER_KG_L + 0.04 * POUND_KG * (POUNDS[0] + POUNDS[1]);
    let first_wort = plato(SG_1060_AT_30_C);
    100.0 * water * first_wort / (100.0 - first_wort) / mash_potential_kg()
}

/// Tinseth's utilisations as printed for 60 and 15 min at 1.060 and 1.070, read
/// between the columns [tests/published/values/07_tinseth.csv; the four values
/// that Palmer prints are confirmed there].
pub(crate) fn bitterness_ibu() -> f64 {
    let between = (SG_1060_AT_20_C - 1.060) / 0.010;
    let at_60_min = 0.211 + between * (0.193 - 0.211);
    let at_15_min = 0.105 + between * (0.096 - 0.105);
    let alpha_mg = 1000.0 * OUNCE_G * (1.0 * 0.064 * at_60_min + 0.5 * 0.05 * at_15_min);
    alpha_mg / post_boil_l()
}

/// Morey: SRM = 1.4922 MCU^0.6859 [Brewing Techniques 1995], MCU = Σ lb × °L / gal,
/// °L = (EBC + 1.2) / 2.65 (common practice, from memory).
pub(crate) fn colour_srm() -> f64 {
    let lovibond = |srm: f64| (srm * EBC_PER_SRM + 1.2) / 2.65;
    let units: f64 = POUNDS.iter().zip(MALT_SRM).map(|(pounds, srm)| pounds * lovibond(srm)).sum();
    let mcu = units / (post_boil_l() / GALLON_L);
    1.4922 * mcu.powf(0.6859)
}

pub(crate) fn colour_ebc() -> f64 {
    colour_srm() * EBC_PER_SRM
}

/// 0.75 million cells for each mL and °P of an ale [Fix, at second hand].
pub(crate) fn cells_needed_billion() -> f64 {
    0.75e6 * into_fermenter_l() * 1000.0 * plato(SG_1060_AT_20_C) / 1e9
}

/// Balling: 2.0665 g of extract make 1 g of alcohol (coefficients from memory);
/// a litre of ethanol weighs 0.7893 kg at 20 °C [CRC Handbook].
pub(crate) fn abv_pct() -> f64 {
    let (original, last) = (plato(SG_1060_AT_20_C), plato(SG_1020_AT_25_C));
    let real = 0.1808 * original + 0.8192 * last;
    let by_mass = (original - real) / (2.0665 - 0.010_665 * original);
    by_mass * SG_1020_AT_25_C * WATER_KG_L / 0.7893
}

/// Heat out of the wort from 98 to 18.9 °C, MJ: mass × 3.89 kJ/(kg K), the mean
/// specific heat of 15 °P wort [sugar-solution equation, Bubnik 1995, with
/// water's own from IAPWS-95]; the equation is honest within 1.5 %.
pub(crate) fn heat_mj() -> f64 {
    post_boil_l() * SG_1060_AT_20_C * WATER_KG_L * 3.89e-3 * (98.0 - 18.9)
}

/// Minutes of the standard chill with this conductance in W/K: 20 L of 12 °P
/// wort, 1.0464 kg/L and 3.94 kJ/(kg K), from 95 to 20 °C against 12 °C. An
/// exponential, so its logarithm.
pub(crate) fn standard_chill_min(conductance_w_per_k: f64) -> f64 {
    20.0 * 1.0464 * 3940.0 / conductance_w_per_k * (83.0_f64 / 8.0).ln() / 60.0
}
