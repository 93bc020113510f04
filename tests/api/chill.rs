//! The probe that knows no batch, and the chill plan.

use serde_json::{Value, json};

use crate::house::{House, ago, entry};

fn reading() -> Value {
    json!({"temperature_c": 43.2, "place": "wort"})
}

#[tokio::test]
async fn a_probes_reading_goes_to_the_batch_in_progress() {
    let (house, batch) = House::brewing().await;
    let answer = house.post("/api/v1/temperature", &reading()).await;
    assert_eq!(answer.status, 201, "{}", answer.text);
    let taken = answer.json();
    assert_eq!(taken["batch"], batch);
    let log = house.get(answer.headers["location"].to_str().unwrap()).await.json();
    assert_eq!(log[0]["id"], taken["entry"]);
    assert_eq!((&log[0]["kind"], &log[0]["temperature_c"]), (&json!("temperature"), &json!(43.2)));

    let at = ago(3.0);
    let earlier = house.post("/api/v1/temperature", &json!({"temperature_c": 60, "place": "bath", "at": at})).await;
    let log = house.get(earlier.headers["location"].to_str().unwrap()).await.json();
    assert_eq!(log[1]["at"], at);
}

#[tokio::test]
async fn a_probe_is_told_why_its_reading_has_nowhere_to_go() {
    let house = House::open().await;
    let none = house.post("/api/v1/temperature", &reading()).await.problem(409);
    assert!(none["detail"].as_str().unwrap().contains("No batch"), "{none}");

    let (one, two) = (house.start(json!({"name": "One"})).await, house.start(json!({"name": "Two"})).await);
    let several = house.post("/api/v1/temperature", &reading()).await.problem(409);
    let told = several["detail"].as_str().unwrap();
    assert!(told.contains("2 batches") && told.contains("One") && told.contains("Two"), "{told}");
    assert_eq!(house.get(&format!("/api/v1/batches/{one}/entries")).await.json(), json!([]));

    house.append(two, &[entry(1.0, json!({"kind": "pitched", "yeast": "House ale"}))]).await;
    assert_eq!(house.post("/api/v1/temperature", &reading()).await.json()["batch"], one, "a pitched wort is done with");
    house.append(one, &[entry(1.0, json!({"kind": "stage_finished", "stage": "clean"}))]).await;
    house.post("/api/v1/temperature", &reading()).await.problem(409);
}

#[tokio::test]
async fn a_probes_faults_are_named_before_a_batch_is_looked_for() {
    let house = House::open().await;
    for (body, field) in [
        (json!({"place": "wort"}), "temperature_c"),
        (json!({"temperature_c": 43.2}), "place"),
        (json!({"temperature_c": 143.2, "place": "wort"}), "temperature_c"),
        (json!({"temperature_c": 43.2, "place": "fridge"}), "place"),
        (json!({"temperature_c": 43.2, "place": "wort", "at": ago(-20.0)}), "at"),
        (json!({"temperature_c": 43.2, "place": "wort", "at": ""}), "at"),
        (json!({"temperature_c": 43.2, "place": "wort", "batch": 1}), "batch"),
    ] {
        assert_eq!(house.post("/api/v1/temperature", &body).await.problem(422)["field"], field, "{body}");
    }
}

fn chill() -> Value {
    json!({"wort_l": 20, "wort_plato": 12, "wort_c": 95, "target_c": 20, "conductance_w_per_k": 110, "pass_min": 8,
        "baths": [{"water_l": 20, "water_c": 12, "ice_kg": 0}, {"water_l": 18, "water_c": 12, "ice_kg": 5}],
        "aim": "time"})
}

#[tokio::test]
async fn a_chill_plan_goes_from_bath_to_bath_down_to_the_target() {
    let house = House::open().await;
    let answer = house.post("/api/v1/chill-plan", &chill()).await;
    assert_eq!(answer.status, 200, "{}", answer.text);
    let plan = answer.json();
    let number = |value: &Value| value.as_f64().unwrap_or_else(|| panic!("a number in {plan}"));
    assert!(plan["reaches_target"] == true && (number(&plan["end_c"]) - 20.0).abs() < 0.1, "{plan}");
    let stages = plan["stages"].as_array().unwrap();
    for pair in stages.windows(2) {
        assert!(number(&pair[1]["start_min"]) >= number(&pair[0]["end_min"]) + 1.0 - 1e-9, "a change takes a minute");
        assert!(number(&pair[1]["wort_start_c"]) <= number(&pair[0]["wort_end_c"]));
    }
    assert!((number(&stages.last().unwrap()["end_min"]) - number(&plan["minutes"])).abs() < 1e-6);
    for field in ["water_l", "ice_kg", "least_ice_kg"] {
        number(&plan[field]);
    }
    assert!(plan["assumptions"][0].as_str().unwrap().contains("as given"), "{plan}");
    assert_eq!(house.get("/api/v1/batches").await.json(), json!([]), "nothing is kept");
}

#[tokio::test]
async fn beside_a_plan_stand_the_other_aims_and_what_one_change_would_do() {
    let house = House::open().await;
    let plan = house.post("/api/v1/chill-plan", &chill()).await.json();
    let aims: Vec<&str> = plan["aims"].as_array().unwrap().iter().map(|one| one["aim"].as_str().unwrap()).collect();
    assert_eq!(aims, ["time", "ice", "water"]);
    assert_eq!(plan["aims"][0]["minutes"], plan["minutes"]);
    assert!(plan["aims"][1]["ice_kg"].as_f64() <= plan["ice_kg"].as_f64());
    assert!(plan["aims"][2]["water_l"].as_f64() <= plan["water_l"].as_f64());
    let of = |change: &str| {
        let all = plan["what_if"].as_array().unwrap();
        all.iter().find(|one| one["change"] == change).unwrap_or_else(|| panic!("{change}: {plan}"))
    };
    let minutes = |change: &str| of(change)["minutes"].as_f64().unwrap();
    let as_it_is = plan["minutes"].as_f64().unwrap();
    assert!(minutes("bucket_more") < as_it_is && minutes("bag_more") < as_it_is);
    // 5 kg of ice only just do: two less leave 2 × (333 + 84) kJ in 20 L of wort, by an enthalpy balance.
    assert_eq!(of("bag_less")["reaches_target"], false, "{plan}");
    assert!(of("bag_less")["end_c"].as_f64().unwrap() > 20.0, "{plan}");
    assert!(minutes("warmer_tap") > as_it_is, "{plan}");
    // The coil was given outright, so nothing is said of how it varies.
    assert_eq!((&plan["coil"]["known_from"], &plan["minutes_high"]), (&json!("given"), &json!(null)));
}

#[tokio::test]
async fn what_only_the_room_would_do_in_hours_falls_short() {
    let house = House::open().await;
    let mut body = chill();
    body["baths"] = json!([{"water_l": 17, "water_c": 17}, {"water_l": 17, "water_c": 17}]);
    body["target_c"] = json!(21);
    let plan = house.post("/api/v1/chill-plan", &body).await.json();
    // Two buckets at 17 °C leave 20 L of wort near 35 °C; a room at 20 °C takes hours from there.
    assert_eq!(plan["reaches_target"], false, "{plan}");
    assert!(plan["end_c"].as_f64().unwrap() > 30.0 && plan["minutes"].as_f64().unwrap() < 45.0, "{plan}");
}

#[tokio::test]
async fn a_coil_is_taken_at_what_its_batches_tell_or_at_a_usual_figure() {
    let house = House::open().await;
    let coil = house.add("/api/v1/equipment", json!({"name": "Coil", "kind": "coil"})).await["id"].clone();
    let kettle = house.add("/api/v1/equipment", json!({"name": "Kettle", "kind": "kettle"})).await["id"].clone();
    let with = |coil: &Value| {
        let mut body = chill();
        body.as_object_mut().unwrap().remove("conductance_w_per_k");
        body["coil"] = coil.clone();
        body
    };
    let said = async || {
        let plan = house.post("/api/v1/chill-plan", &with(&coil)).await.json();
        plan["assumptions"][0].as_str().unwrap_or_else(|| panic!("{plan}")).to_owned()
    };
    // 20 L of 12 °P wort at a time constant of 10.5 min, give or take a third.
    assert!(said().await.contains("131 ± 46 W") && said().await.contains("usual"), "{}", said().await);

    let batch = house.start(json!({"equipment": [coil], "volume_l": 20})).await;
    let mut entries = vec![
        entry(152.5, json!({"kind": "flame_out"})),
        entry(152.4, json!({"kind": "volume", "point": "post_boil", "volume_l": 20.8, "temperature_c": 98})),
        entry(
            152.3,
            json!({"kind": "gravity", "point": "post_boil", "instrument": "hydrometer", "reading": 1.048,
            "temperature_c": 20}),
        ),
        entry(
            152.0,
            json!({"kind": "cooling_started", "method": "ice_bath", "water_l": 20, "water_c": 12,
            "ice_kg": 8}),
        ),
    ];
    for step in 0..8 {
        let minutes = f64::from(step) * 2.0;
        let celsius = 14.0 + 80.0 * (-0.09 * minutes).exp();
        entries.push(crate::house::wort(152.0 - minutes, (celsius * 10.0).round() / 10.0));
    }
    house.append(batch, &entries).await;
    let fitted = house.summary(batch).await["chill"]["conductance_w_per_k"].as_f64().expect("these readings tell it");
    assert!(
        said().await.contains(&format!("{fitted:.0} ±")) && said().await.contains("its one batch"),
        "{}",
        said().await
    );

    assert_eq!(house.post("/api/v1/chill-plan", &with(&kettle)).await.problem(422)["field"], "coil");
    assert_eq!(house.post("/api/v1/chill-plan", &with(&json!(99))).await.problem(422)["field"], "coil");
}

#[tokio::test]
async fn a_chill_plans_faults_are_named() {
    let house = House::open().await;
    let set = |name: &str, value: Value| {
        let mut body = chill();
        body[name] = value;
        body
    };
    for (body, field) in [
        (set("wort_l", json!(0)), "wort_l"),
        (set("wort_plato", json!(-1)), "wort_plato"),
        (set("target_c", json!(95)), "target_c"),
        (set("target_c", json!(null)), "target_c"),
        (set("conductance_w_per_k", json!(0)), "conductance_w_per_k"),
        (set("conductance_w_per_k", json!(null)), "conductance_w_per_k"),
        (set("baths", json!([])), "baths"),
        (set("baths", json!([{"water_l": 0, "water_c": 12}])), "baths.0.water_l"),
        (set("baths", json!([{"water_l": 20, "water_c": 200}])), "baths.0.water_c"),
        (set("aim", json!("glory")), "aim"),
        (set("change_min", json!(-1)), "change_min"),
        (set("pass_min", json!(0)), "pass_min"),
        (set("ice", json!(1)), "ice"),
    ] {
        let problem = house.post("/api/v1/chill-plan", &body).await.problem(422);
        assert_eq!(problem["field"], field, "{problem}");
        assert_eq!(problem["errors"].as_array().map(Vec::len), Some(1), "{problem}");
    }
}
