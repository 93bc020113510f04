//! Recipes, equipment and batches.

use serde_json::{Value, json};

use crate::house::{House, recipe};

#[tokio::test]
async fn a_recipe_is_answered_whole_and_found_where_it_was_said_to_be() {
    let house = House::open().await;
    let answer = house.post("/api/v1/recipes", &recipe()).await;
    assert_eq!(answer.status, 201, "{}", answer.text);
    let record = answer.json();
    let address = answer.headers["location"].to_str().unwrap();
    assert_eq!(address, format!("/api/v1/recipes/{}", record["id"]));
    assert_eq!(house.get(address).await.json(), record);
    for (field, value) in recipe().as_object().unwrap() {
        assert_eq!(
            record[field],
            if field == "yeast" {
                json!({"name": "House ale", "kind": "ale", "form": "liquid",
            "cells_billion": 200.0, "mass_kg": null})
            } else {
                value.clone()
            },
            "{field}"
        );
    }
    assert_eq!((&record["revision"], &record["retired"]), (&json!(1), &json!(false)));
    assert!(record["predicted"]["original_sg"].as_f64().is_some_and(|sg| (1.03..1.06).contains(&sg)), "{record}");
    assert_eq!(record["predicted"]["missing"], json!({}));
    println!("{record}");
}

#[tokio::test]
async fn a_batch() {
    let (house, batch) = House::brewing().await;
    println!("{}", house.get(&format!("/api/v1/batches/{batch}")).await.text);
    println!("{}", house.get("/api/v1/openapi.json").await.text);
    assert!(false);
}
