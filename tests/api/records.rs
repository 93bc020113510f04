//! Recipes, equipment and batches.

use serde_json::{Value, json};

use crate::house::{House, recipe};

/// Checks that an answer carries everything that was asked to be kept.
#[track_caller]
fn assert_carries(answer: &Value, asked: &Value) {
    match asked {
        Value::Object(fields) => {
            for (name, value) in fields {
                assert_carries(&answer[name], value);
            }
        }
        Value::Array(rows) => {
            assert_eq!(answer.as_array().map(Vec::len), Some(rows.len()), "{answer} for {asked}");
            for (index, row) in rows.iter().enumerate() {
                assert_carries(&answer[index], row);
            }
        }
        _ => assert_eq!(answer, asked),
    }
}

#[tokio::test]
async fn a_recipe_is_answered_whole_and_found_where_it_was_said_to_be() {
    let house = House::open().await;
    let answer = house.post("/api/v1/recipes", &recipe()).await;
    assert_eq!(answer.status, 201, "{}", answer.text);
    let record = answer.json();
    let address = answer.headers["location"].to_str().unwrap();
    assert_eq!(address, format!("/api/v1/recipes/{}", record["id"]));
    assert_eq!(house.get(address).await.json(), record);
    assert_carries(&record, &recipe());
    assert_eq!((&record["revision"], &record["retired"]), (&json!(1), &json!(false)));
    assert_eq!(record["created_at"], record["changed_at"]);
}

/// 4.5 kg of malt of 81 % yield dry and 4.5 % moisture can give 4.5 × 0.81 × 0.955 = 3.48 kg of
/// extract; three quarters of it in 20 L is 2.61 kg in about 20.8 kg of wort, 12.5 °P or 1.050.
#[tokio::test]
async fn a_recipe_says_what_it_should_give_and_what_that_rests_on() {
    let house = House::open().await;
    let predicted = house.add("/api/v1/recipes", recipe()).await["predicted"].clone();
    let figure = |name: &str| predicted[name].as_f64().unwrap_or_else(|| panic!("{name} in {predicted}"));
    assert!((figure("original_plato") - 12.5).abs() < 0.2, "{predicted}");
    assert!((figure("original_sg") - 1.0505).abs() < 0.001, "{predicted}");
    assert!(figure("bitterness_ibu") > 0.0 && figure("colour_ebc") > 0.0 && figure("cells_needed_billion") > 0.0);
    assert!(predicted["water"]["strike_c"].as_f64().is_some_and(|strike| strike > 66.0), "{predicted}");
    assert_eq!(predicted["missing"], json!({}));
    assert!(predicted["assumptions"].as_array().is_some_and(|said| !said.is_empty()));

    let bare = json!({"name": "Water", "volume_l": 20, "boil_min": 0, "target_pitch_c": 19, "pitch_low_c": 17,
        "pitch_high_c": 21});
    let predicted = house.add("/api/v1/recipes", bare).await["predicted"].clone();
    assert_eq!(predicted["bitterness_ibu"].to_string(), "0.0", "and not −0");
    for figure in ["colour_ebc", "cells_needed_billion", "water"] {
        assert_eq!(predicted[figure], Value::Null, "{figure}");
        assert!(predicted["missing"][figure].is_string(), "{figure} says why: {predicted}");
    }
}

#[tokio::test]
async fn a_put_writes_the_next_revision_and_takes_back_what_was_answered() {
    let house = House::open().await;
    let mut record = house.add("/api/v1/recipes", recipe()).await;
    let address = format!("/api/v1/recipes/{}", record["id"]);
    record["name"] = json!("Slate Roof Pale, drier");
    let answer = house.put(&address, &record).await;
    assert_eq!(answer.status, 200, "{}", answer.text);
    let revised = answer.json();
    assert_eq!((&revised["revision"], &revised["name"]), (&json!(2), &record["name"]));
    assert_eq!(revised["created_at"], record["created_at"]);
    assert_eq!(house.get(&address).await.json(), revised);

    let refused = house.put(&address, &json!({"name": "Half of one", "strength": 3})).await.problem(422);
    let fields: Vec<&str> =
        refused["errors"].as_array().unwrap().iter().map(|row| row["field"].as_str().unwrap()).collect();
    assert!(fields.contains(&"volume_l") && fields.contains(&"strength"), "{refused}");
    assert_eq!(house.get(&address).await.json(), revised, "nothing was kept");
    house.put("/api/v1/recipes/99", &recipe()).await.problem(404);
}

#[tokio::test]
async fn equipment_is_kept_with_the_state_it_is_in() {
    let house = House::open().await;
    let coil = json!({"name": "Long coil", "kind": "coil", "pass_min": 10.0, "hold_up_l": 1.2, "dry_mass_kg": 3.1});
    let answer = house.post("/api/v1/equipment", &coil).await;
    assert_eq!(answer.status, 201, "{}", answer.text);
    let mut record = answer.json();
    let address = answer.headers["location"].to_str().unwrap();
    assert_carries(&record, &coil);
    assert_eq!(record["care"]["condition"], "not_known");
    assert_eq!(house.get(address).await.json(), record);

    record["pass_min"] = json!(8.5);
    let changed = house.put(address, &record).await;
    assert_eq!(changed.status, 200, "{}", changed.text);
    assert_eq!(changed.json()["pass_min"], 8.5);
    house.put("/api/v1/equipment/99", &coil).await.problem(404);
    let refused = house.post("/api/v1/equipment", &json!({"name": "x", "kind": "teapot"})).await.problem(422);
    assert_eq!(refused["field"], "kind");
}

#[tokio::test]
async fn what_was_put_away_is_in_a_list_of_its_own() {
    let house = House::open().await;
    for name in ["Old coil", "New coil"] {
        house.add("/api/v1/equipment", json!({"name": name, "kind": "coil"})).await;
    }
    house.store.retire_equipment(1, time::OffsetDateTime::now_utc()).await.unwrap();
    let names = async |path: &str| {
        let list = house.get(path).await.json();
        list.as_array().unwrap().iter().map(|piece| piece["name"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(names("/api/v1/equipment").await, ["New coil"]);
    assert_eq!(names("/api/v1/equipment?retired=true").await, ["Old coil"]);
    assert_eq!(house.get("/api/v1/equipment/1").await.json()["retired"], true);
}

#[tokio::test]
async fn a_batch_answers_with_its_recipe_its_equipment_and_its_summary() {
    let house = House::open().await;
    let recipe_id = house.add("/api/v1/recipes", recipe()).await["id"].clone();
    let coil = house.add("/api/v1/equipment", json!({"name": "Coil", "kind": "coil"})).await["id"].clone();
    let asked = json!({"recipe": recipe_id, "name": "Gyle 12", "volume_l": 19.5, "equipment": [coil], "tap_c": 11.0,
        "altitude_m": 120.0});
    let answer = house.post("/api/v1/batches", &asked).await;
    assert_eq!(answer.status, 201, "{}", answer.text);
    let batch = answer.json();
    let address = answer.headers["location"].to_str().unwrap();
    assert_eq!(address, format!("/api/v1/batches/{}", batch["id"]));
    assert_eq!(house.get(address).await.json(), batch);
    for field in ["name", "volume_l", "tap_c", "altitude_m"] {
        assert_eq!(batch[field], asked[field], "{field}");
    }
    assert_carries(&batch["recipe"], &recipe());
    assert_eq!((&batch["recipe_id"], &batch["recipe_revision"]), (&recipe_id, &json!(1)));
    assert_eq!((&batch["equipment"][0]["id"], &batch["state"]), (&coil, &json!("planned")));

    let missing = batch["summary"]["missing"].as_object().unwrap();
    for (figure, path) in [("gravity.original_sg", "/gravity/original_sg"), ("chill.heat_mj", "/chill/heat_mj")] {
        assert_eq!(batch["summary"].pointer(path), Some(&Value::Null), "{figure}");
        assert!(missing[figure].is_string(), "{figure} says why");
    }
    assert_eq!(batch["summary"]["chill"]["verdict"], "not_started");

    let defaults = house.add("/api/v1/batches", json!({"recipe": recipe_id})).await;
    assert_eq!((&defaults["name"], &defaults["volume_l"]), (&json!("Slate Roof Pale"), &json!(20.0)));
}

#[tokio::test]
async fn a_batch_of_what_is_not_in_the_book_is_refused_by_field() {
    let house = House::open().await;
    let refused = house.post("/api/v1/batches", &json!({"recipe": 4, "equipment": [9]})).await.problem(422);
    assert_eq!(refused["field"], "recipe");
    assert_eq!(refused["errors"][1]["field"], "equipment");
    assert_eq!(house.get("/api/v1/batches").await.json(), json!([]));
}

#[tokio::test]
async fn a_batch_keeps_the_revision_it_was_started_with() {
    let (house, batch) = House::brewing().await;
    let mut changed = recipe();
    changed["boil_min"] = json!(75);
    assert_eq!(house.put("/api/v1/recipes/1", &changed).await.status, 200);
    let batch = house.get(&format!("/api/v1/batches/{batch}")).await.json();
    assert_eq!((&batch["recipe_revision"], &batch["recipe"]["boil_min"]), (&json!(1), &json!(60.0)));
}

#[tokio::test]
async fn lists_are_read_part_by_part_along_their_links() {
    let house = House::open().await;
    for _ in 0..5 {
        house.start(json!({})).await;
    }
    for (path, wanted) in [("/api/v1/batches", [5, 4, 3, 2, 1]), ("/api/v1/recipes", [1, 2, 3, 4, 5])] {
        let mut next = Some(format!("{path}?limit=2"));
        let (mut ids, mut parts) = (Vec::new(), 0);
        while let Some(address) = next {
            let answer = house.get(&address).await;
            ids.extend(answer.json().as_array().unwrap().iter().map(|row| row["id"].as_i64().unwrap()));
            parts += 1;
            next = answer.headers.get("link").map(|link| {
                let link = link.to_str().unwrap();
                link.strip_prefix('<').unwrap().strip_suffix(">; rel=\"next\"").unwrap().to_owned()
            });
        }
        assert_eq!((ids, parts), (wanted.to_vec(), 3), "{path}");
        let whole = house.get(&format!("{path}?limit=5")).await;
        assert!(!whole.headers.contains_key("link"), "five are all there are");
    }
}

#[tokio::test]
async fn a_line_of_the_batch_list_carries_the_figures_of_the_summary() {
    let (house, batch) = House::brewing().await;
    let gravity = json!({"kind": "gravity", "point": "post_boil", "instrument": "hydrometer", "reading": 1.046,
        "temperature_c": 20});
    house.append(batch, &[crate::house::entry(5.0, gravity)]).await;
    let line = house.get("/api/v1/batches").await.json()[0].clone();
    assert_eq!((&line["id"], &line["state"]), (&json!(batch), &json!("brewing")));
    assert!(line["original_sg"].is_number(), "{line}");
    assert_eq!(line["original_sg"], house.summary(batch).await["gravity"]["original_sg"]);
}
