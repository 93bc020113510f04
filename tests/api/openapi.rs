//! The description, held against what is there and what is taken.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use crate::{
    entries::one_of_each,
    house::{House, wort},
};

/// The published interface: each address, and how it can be asked.
const ROUTES: [(&str, &[&str]); 12] = [
    ("/api/v1/recipes", &["get", "post"]),
    ("/api/v1/recipes/{id}", &["get", "put"]),
    ("/api/v1/equipment", &["get", "post"]),
    ("/api/v1/equipment/{id}", &["get", "put"]),
    ("/api/v1/batches", &["get", "post"]),
    ("/api/v1/batches/{id}", &["get"]),
    ("/api/v1/batches/{id}/entries", &["get", "post"]),
    ("/api/v1/batches/{id}/events", &["get"]),
    ("/api/v1/batches/{id}/readings.csv", &["get"]),
    ("/api/v1/temperature", &["post"]),
    ("/api/v1/chill-plan", &["post"]),
    ("/api/v1/openapi.json", &["get"]),
];

async fn described(house: &House) -> Value {
    let answer = house.get("/api/v1/openapi.json").await;
    assert_eq!(answer.status, 200);
    assert_eq!(answer.headers["content-type"], "application/json");
    answer.json()
}

/// Every `$ref` in a document.
fn references<'a>(value: &'a Value, found: &mut BTreeSet<&'a str>) {
    match value {
        Value::Object(fields) => {
            found.extend(fields.get("$ref").and_then(Value::as_str));
            fields.values().for_each(|value| references(value, found));
        }
        Value::Array(rows) => rows.iter().for_each(|value| references(value, found)),
        _ => {}
    }
}

#[tokio::test]
async fn it_describes_every_route_and_no_other() {
    let described = described(&House::open().await).await;
    assert!(described["openapi"].as_str().is_some_and(|version| version.starts_with("3.1.")));
    assert_eq!(described["info"]["title"], "Gylebook");
    let paths = described["paths"].as_object().unwrap();
    assert_eq!(paths.keys().map(String::as_str).collect::<BTreeSet<_>>(), ROUTES.iter().map(|route| route.0).collect());
    let mut names = BTreeSet::new();
    for (path, ways) in ROUTES {
        assert_eq!(paths[path].as_object().unwrap().keys().collect::<Vec<_>>(), ways, "{path}");
        for way in ways {
            let operation = &paths[path][*way];
            assert!(names.insert(operation["operationId"].as_str().unwrap()), "{path} {way} has a name of its own");
            assert!(operation["summary"].is_string(), "{path} {way} says what it does");
            let responses = operation["responses"].as_object().unwrap();
            assert!(responses.values().all(|response| response["description"].is_string()), "{path} {way}");
            for (status, response) in responses.iter().filter(|(status, _)| !status.starts_with('2')) {
                let problem = &response["content"]["application/problem+json"]["schema"]["$ref"];
                assert_eq!(problem, "#/components/schemas/Problem", "{path} {way} {status}");
            }
        }
    }
}

#[tokio::test]
async fn every_reference_leads_somewhere() {
    let described = described(&House::open().await).await;
    let mut found = BTreeSet::new();
    references(&described, &mut found);
    assert!(found.len() > 40, "{found:?}");
    for reference in found {
        let pointer = reference.strip_prefix('#').expect("within the document");
        assert!(described.pointer(pointer).is_some(), "{reference}");
    }
}

/// The schema in a list of kinds that an entry is described by.
fn kind_of<'a>(described: &'a Value, list: &str, entry: &Value) -> &'a Value {
    let fits = |schema: &&Value, name: &str| {
        schema["properties"][name]["enum"].as_array().is_none_or(|words| words.contains(&entry[name]))
    };
    let kinds = described["components"]["schemas"][list]["oneOf"].as_array().unwrap();
    let fitting: Vec<&Value> =
        kinds.iter().filter(|schema| fits(schema, "kind") && fits(schema, "instrument")).collect();
    assert_eq!(fitting.len(), 1, "{entry} is described once in {list}");
    fitting[0]
}

#[tokio::test]
async fn every_kind_of_entry_is_described_as_it_is_taken() {
    let (house, batch) = House::brewing().await;
    let described = described(&house).await;
    let coil = house.add("/api/v1/equipment", json!({"name": "Coil", "kind": "coil"})).await["id"].clone();
    let first = wort(60.0, 70.0);
    house.append(batch, std::slice::from_ref(&first)).await;
    let mut kinds = BTreeSet::new();
    for sent in one_of_each(&coil, &first["id"]) {
        kinds.insert(sent["kind"].as_str().unwrap().to_owned());
        let schema = kind_of(&described, "NewEntry", &sent);
        assert_eq!(schema["additionalProperties"], false);
        let properties = schema["properties"].as_object().unwrap();
        let required: Vec<&str> =
            schema["required"].as_array().unwrap().iter().map(|name| name.as_str().unwrap()).collect();
        for name in sent.as_object().unwrap().keys() {
            assert!(properties.contains_key(name), "{name} of {sent}");
        }
        for name in properties.keys() {
            let mut without = sent.clone();
            without.as_object_mut().unwrap().remove(name);
            let receipt = house.append(batch, &[without]).await;
            let refused = receipt["refused"].as_array().unwrap();
            // What one of two things has to be there can't be told field by field.
            let either = ["replacement", "void", "mass_kg"].contains(&name.as_str()) && sent["kind"] != "addition";
            if required.contains(&name.as_str()) {
                assert_eq!(refused[0]["field"], *name, "{name} of {sent} has to be there");
            } else if !either {
                assert!(refused.is_empty(), "{name} of {sent} may be left out: {receipt}");
            }
        }
        let logged = kind_of(&described, "LoggedEntry", &sent);
        assert!(logged["properties"]["seq"].is_object() && logged["properties"]["received_at"].is_object());
    }
    let titles = described["components"]["schemas"]["NewEntry"]["oneOf"].as_array().unwrap();
    let titles: BTreeSet<String> = titles.iter().map(|kind| kind["title"].as_str().unwrap().to_owned()).collect();
    assert_eq!(titles, kinds, "every kind there is was sent");
}

#[tokio::test]
async fn ranges_are_published_as_they_are_kept_to() {
    let described = described(&House::open().await).await;
    let schemas = &described["components"]["schemas"];
    let of = |kind: &str, instrument: Value, field: &str| {
        let schema = kind_of(&described, "NewEntry", &json!({"kind": kind, "instrument": instrument}));
        let field = &schema["properties"][field];
        (field["minimum"].as_f64().unwrap(), field["maximum"].as_f64().unwrap())
    };
    assert_eq!(of("temperature", json!(null), "temperature_c"), (-10.0, 115.0));
    assert_eq!(of("gravity", json!("hydrometer"), "reading"), (0.98, 1.2));
    assert_eq!(of("gravity", json!("refractometer"), "reading"), (0.0, 45.0));
    assert_eq!(of("ph", json!(null), "ph"), (2.0, 12.0));
    assert_eq!(schemas["NewRecipe"]["properties"]["hops"]["items"]["properties"]["alpha_pct"]["maximum"], 100);
    assert_eq!(schemas["NewRecipe"]["properties"]["yeast"]["required"], json!(["name", "kind", "form"]));
    assert_eq!(schemas["NewBatch"]["required"], json!(["recipe"]));
    // Words that come out of a macro, which a derive would give by their Rust names.
    assert_eq!(schemas["FermentableUse"]["enum"], json!(["mash", "kettle"]));
    assert_eq!(schemas["ChillVerdict"]["enum"], json!(["not_started", "moving", "holding", "settled"]));
    let kinds: usize = schemas["NewEquipment"]["oneOf"]
        .as_array()
        .unwrap()
        .iter()
        .map(|of| of["properties"]["kind"]["enum"].as_array().unwrap().len())
        .sum();
    assert_eq!(kinds, 13, "each kind of equipment is described once");
}
