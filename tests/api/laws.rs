//! What holds whatever is sent, in whatever order.

use std::sync::LazyLock;

use proptest::prelude::*;
use serde_json::{Value, json};
use tokio::runtime::Runtime;

use crate::house::{House, entry, wort};

static RUNTIME: LazyLock<Runtime> = LazyLock::new(|| Runtime::new().expect("a runtime"));

/// A brew day up to the pitch, each entry some minutes ago. No two of one kind
/// happen at one moment: only then does their order in the book decide.
fn day() -> Vec<Value> {
    let mut day = vec![
        entry(300.0, json!({"kind": "volume", "point": "strike", "volume_l": 15, "temperature_c": 20})),
        entry(230.0, json!({"kind": "volume", "point": "pre_boil", "volume_l": 26, "temperature_c": 70})),
        entry(
            229.0,
            json!({"kind": "gravity", "point": "pre_boil", "instrument": "hydrometer", "reading": 1.04,
            "temperature_c": 20}),
        ),
        entry(220.0, json!({"kind": "boil_started"})),
        entry(219.0, json!({"kind": "addition", "what": "Bittering hop", "mass_kg": 0.04, "planned": 0})),
        entry(162.0, json!({"kind": "flush_started", "temperature_c": 95})),
        entry(160.0, json!({"kind": "flush_finished", "temperature_c": 92})),
        entry(155.0, json!({"kind": "flame_out"})),
        entry(154.0, json!({"kind": "volume", "point": "post_boil", "volume_l": 22.5, "temperature_c": 98})),
        entry(
            153.0,
            json!({"kind": "gravity", "point": "post_boil", "instrument": "hydrometer", "reading": 1.046,
            "temperature_c": 20}),
        ),
        entry(152.0, json!({"kind": "cooling_started", "method": "still_bath", "water_l": 18, "water_c": 12})),
        entry(
            135.0,
            json!({"kind": "cooling_started", "method": "ice_bath", "water_l": 18, "water_c": 12,
            "ice_kg": 5}),
        ),
        entry(118.0, json!({"kind": "coil_drained", "recovered_l": 1.1})),
        entry(117.0, json!({"kind": "volume", "point": "into_fermenter", "volume_l": 20.2, "temperature_c": 19})),
        entry(115.0, json!({"kind": "pitched", "yeast": "House ale", "cells_billion": 200, "yeast_c": 18})),
    ];
    let wort_at = [
        (152.0, 96.0),
        (149.0, 82.0),
        (146.0, 70.5),
        (143.0, 62.0),
        (140.0, 56.5),
        (136.0, 52.0),
        (133.0, 40.0),
        (130.0, 31.0),
        (127.0, 25.0),
        (124.0, 21.5),
        (121.0, 19.5),
    ];
    day.extend(wort_at.iter().map(|(minutes_ago, celsius)| wort(*minutes_ago, *celsius)));
    day
}

async fn summary_of(posts: &[&[Value]]) -> Value {
    let house = House::open().await;
    let coil = house.add("/api/v1/equipment", json!({"name": "Coil", "kind": "coil", "pass_min": 10})).await;
    let batch = house.start(json!({"equipment": [coil["id"]]})).await;
    for post in posts {
        let receipt = house.append(batch, post).await;
        assert_eq!(receipt["refused"], json!([]));
    }
    house.summary(batch).await
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// A phone sends what it has when it has a network, and sends again what it
    /// got no answer for: the day that comes of it is the same.
    #[test]
    fn order_parcels_and_repeats_change_no_figure(
        shuffled in Just(day()).prop_shuffle(),
        parcel in 1_usize..9,
        again in 0_usize..26,
    ) {
        let told = RUNTIME.block_on(async {
            let mut in_order = shuffled.clone();
            in_order.sort_by_key(|entry| entry["at"].as_str().unwrap().to_owned());
            let whole = summary_of(&[&in_order]).await;
            let mut parcels: Vec<&[Value]> = shuffled.chunks(parcel).collect();
            parcels.push(&shuffled[again..]);
            (whole, summary_of(&parcels).await)
        });
        prop_assert!(told.0["chill"]["conductance_w_per_k"].is_number(), "{}", told.0["missing"]);
        prop_assert_eq!(&told.0, &told.1);
    }
}
