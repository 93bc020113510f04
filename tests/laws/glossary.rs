//! The glossary explains what the summary shows, each figure once.

use std::collections::BTreeSet;

use gylebook::science::{bibliography, glossary};

/// The figures of a batch's summary, as the interface names them.
const SUMMARY: &str = "
    gravity.first_wort_sg gravity.pre_boil_sg gravity.post_boil_sg gravity.original_sg
    gravity.final_sg gravity.first_wort_plato gravity.pre_boil_plato gravity.post_boil_plato
    gravity.original_plato gravity.final_plato
    volume.pre_boil_l volume.post_boil_l volume.into_fermenter_l volume.recovered_l
    volume.boil_off_l_per_h volume.boil_off_pct_per_h
    extract.potential_kg extract.pre_boil_kg extract.post_boil_kg extract.into_fermenter_kg
    extract.account_gap_kg extract.account_gap_se_kg
    efficiency.conversion_pct efficiency.into_kettle_pct efficiency.brewhouse_pct
    efficiency.kettle_to_fermenter_pct efficiency.into_kettle_l_deg_per_kg efficiency.into_kettle_ppg
    estimate.bitterness_ibu estimate.colour_ebc estimate.abv_pct
    yeast.cells_needed_billion yeast.cells_pitched_billion
    flush.seconds flush.temperature_c flush.verdict
    chill.verdict chill.held_s chill.pass_s chill.minutes_to_target chill.minutes_to_settled
    chill.minutes_to_80c chill.minutes_60_to_30c chill.mean_rate_c_per_min
    chill.max_rate_c_per_min chill.heat_mj chill.water_l chill.ice_kg chill.standard_chill_min
    chill.limited_by chill.would_help chill.would_help_saves_min chill.water_l_per_l chill.ice_kg_per_l
    chill.planned_min chill.alpha_isomerised_after_flame_out_mg_per_l
    chill.dms_precursor_turned_over_pct chill.stages.conductance_w_per_k
    chill.stages.conductance_se_w_per_k chill.stages.effectiveness chill.stages.limit_c
    chill.conductance_w_per_k chill.conductance_se_w_per_k chill.bath_capacity_used_pct
    volume.boil_off_pct_per_h pitch.wort_c pitch.yeast_c pitch.clearance";

#[test]
fn every_figure_of_the_summary_is_explained() {
    for key in SUMMARY.split_whitespace() {
        assert!(glossary::figure(key).is_some(), "{key} is not explained");
    }
}

#[test]
fn no_key_is_explained_twice() {
    let keys: Vec<_> = glossary::figures().flat_map(|figure| figure.keys).collect();
    let distinct: BTreeSet<_> = keys.iter().collect();
    assert_eq!(distinct.len(), keys.len());
}

#[test]
fn every_entry_is_whole() {
    for figure in glossary::figures() {
        assert!(figure.meaning.ends_with('.') && figure.validity.ends_with('.'), "{}", figure.name);
        for tag in figure.sources {
            assert!(bibliography::source(tag).is_some(), "{}: [{tag}]", figure.name);
        }
        for (symbol, words) in figure.symbols {
            assert!(!symbol.is_empty() && !words.is_empty(), "{}", figure.name);
        }
        assert_eq!(figure.formula.is_empty(), figure.symbols.is_empty(), "{}", figure.name);
    }
}

#[test]
fn every_formula_is_balanced_and_renders_as_one_block() {
    for figure in glossary::figures() {
        for (line, block) in figure.formula.iter().zip(figure.mathml()) {
            assert_eq!(line.matches('(').count(), line.matches(')').count(), "{line}");
            assert_eq!(line.matches('"').count() % 2, 0, "{line}");
            let parsed = scraper::Html::parse_fragment(&block);
            let blocks = scraper::Selector::parse("math").unwrap();
            assert_eq!(parsed.select(&blocks).count(), 1, "{line}");
            let pairs = scraper::Selector::parse("mfrac, msup, msub").unwrap();
            for pair in parsed.select(&pairs) {
                assert_eq!(pair.child_elements().count(), 2, "{line}");
            }
        }
    }
}
