//! The log as it grows, and as a table.

use std::time::Duration;

use axum::{
    body::{Body, BodyDataStream},
    http::Method,
};
use gylebook::web::Options;
use serde_json::{Value, json};
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::{TcpListener, TcpStream},
    sync::oneshot,
    time::timeout,
};
use tokio_stream::StreamExt;

use crate::house::{House, ago, entry, wort};

/// Long enough for any machine; it only passes when something is broken.
const PATIENCE: Duration = Duration::from_secs(20);

/// An open event stream.
struct Events {
    body: BodyDataStream,
    read: String,
}

impl Events {
    async fn open(house: &House, path: &str, headers: &[(&str, &str)]) -> Self {
        let response = house.ask(Method::GET, path, headers, Body::empty()).await;
        assert_eq!(response.status(), 200);
        assert_eq!(response.headers()["content-type"], "text/event-stream");
        Self { body: response.into_body().into_data_stream(), read: String::new() }
    }

    /// The next event: its id and its data. None where the stream has ended.
    async fn next(&mut self) -> Option<(i64, Value)> {
        // Around the whole of it: a keep-alive is no event.
        timeout(PATIENCE, self.read_next()).await.expect("an event comes in time")
    }

    async fn read_next(&mut self) -> Option<(i64, Value)> {
        loop {
            if let Some((event, rest)) = self.read.split_once("\n\n") {
                let field = |name: &str| event.lines().find_map(|line| line.strip_prefix(name)).map(str::trim);
                let told = field("data:").map(|data| {
                    assert_eq!(field("event:"), Some("entries"));
                    (field("id:").unwrap().parse().unwrap(), serde_json::from_str(data).unwrap())
                });
                self.read = rest.to_owned();
                if told.is_some() {
                    return told;
                }
                continue;
            }
            let more = self.body.next().await?.unwrap();
            self.read.push_str(std::str::from_utf8(&more).unwrap());
        }
    }
}

#[tokio::test]
async fn a_stream_tells_what_is_new_with_the_chill_as_it_then_stands() {
    let (house, batch) = House::brewing().await;
    house.append(batch, &[entry(30.0, json!({"kind": "flame_out"}))]).await;
    let mut events = Events::open(&house, &format!("/api/v1/batches/{batch}/events"), &[]).await;
    let other = house.start(json!({})).await;
    house.append(other, &[wort(3.0, 50.0)]).await;
    let readings = [wort(2.0, 60.0), wort(1.0, 58.0)];
    house.append(batch, &readings).await;
    let (id, told) = events.next().await.unwrap();
    let ids: Vec<&Value> = told["entries"].as_array().unwrap().iter().map(|entry| &entry["id"]).collect();
    assert_eq!(ids, [&readings[0]["id"], &readings[1]["id"]]);
    assert_eq!((&told["seq"], &told["entries"][1]["seq"]), (&json!(id), &json!(id)));
    assert_eq!(told["chill"], house.summary(batch).await["chill"]);
    assert_eq!(told["chill"]["verdict"], "moving");
}

#[tokio::test]
async fn a_stream_that_was_cut_off_misses_nothing() {
    let (house, batch) = House::brewing().await;
    let path = format!("/api/v1/batches/{batch}/events");
    house.append(batch, &[wort(9.0, 70.0)]).await;
    let mut events = Events::open(&house, &path, &[]).await;
    house.append(batch, &[wort(8.0, 68.0)]).await;
    let (id, _) = events.next().await.unwrap();
    drop(events);
    let missed = [wort(7.0, 66.0), wort(6.0, 64.0)];
    house.append(batch, &missed[..1]).await;
    house.append(batch, &missed[1..]).await;

    let resumed = [("last-event-id", id.to_string())].map(|(name, id)| (name, id));
    let headers: Vec<(&str, &str)> = resumed.iter().map(|(name, id)| (*name, id.as_str())).collect();
    let (_, told) = Events::open(&house, &path, &headers).await.next().await.unwrap();
    let ids: Vec<&Value> = told["entries"].as_array().unwrap().iter().map(|entry| &entry["id"]).collect();
    assert_eq!(ids, [&missed[0]["id"], &missed[1]["id"]]);
    let (_, told) = Events::open(&house, &format!("{path}?after=0"), &[]).await.next().await.unwrap();
    assert_eq!(told["entries"].as_array().map(Vec::len), Some(4));
}

#[tokio::test]
async fn a_reader_that_fell_far_behind_reads_the_log_again() {
    let (house, batch) = House::brewing().await;
    let mut events = Events::open(&house, &format!("/api/v1/batches/{batch}/events"), &[]).await;
    let other = house.start(json!({})).await;
    // More changes than are kept for a listener.
    for step in 0..300 {
        house.append(other, &[wort(f64::from(step) / 60.0, 50.0)]).await;
    }
    house.append(batch, &[wort(1.0, 60.0)]).await;
    let (_, told) = events.next().await.unwrap();
    assert_eq!(told["entries"].as_array().map(Vec::len), Some(1));
}

#[tokio::test]
async fn a_stream_ends_when_the_server_is_told_to_stop() {
    let (house, batch) = House::brewing().await;
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, told) = oneshot::channel::<()>();
    let stopped = async { told.await.unwrap() };
    let server = tokio::spawn(gylebook::web::serve(house.store.clone(), listener, Options::default(), stopped));

    let mut reader = TcpStream::connect(address).await.unwrap();
    let ask = format!("GET /api/v1/batches/{batch}/events HTTP/1.1\r\nHost: {address}\r\n\r\n");
    reader.write_all(ask.as_bytes()).await.unwrap();
    let mut start = [0; 15];
    reader.read_exact(&mut start).await.unwrap();
    assert_eq!(&start, b"HTTP/1.1 200 OK");
    stop.send(()).unwrap();
    let mut rest = String::new();
    timeout(PATIENCE, reader.read_to_string(&mut rest)).await.expect("it ends").unwrap();
    assert!(rest.ends_with("0\r\n\r\n"), "to its end, and not cut off: {rest}");
    server.await.unwrap().unwrap();
}

#[tokio::test]
async fn the_readings_are_a_table_that_a_spreadsheet_reads_and_does_not_run() {
    let (house, batch) = House::brewing().await;
    let mut noted = wort(8.0, 70.5);
    noted["note"] = json!("=HYPERLINK(\"http://evil.example\", \"quoted\"), and\na second line");
    let struck = wort(6.0, 12.0);
    house
        .append(
            batch,
            &[
                entry(10.0, json!({"kind": "flame_out"})),
                wort(12.0, -3.5),
                noted.clone(),
                struck.clone(),
                entry(5.0, json!({"kind": "amendment", "of": struck["id"], "void": true})),
                entry(4.0, json!({"kind": "temperature", "place": "bath", "temperature_c": 14})),
            ],
        )
        .await;
    let answer = house.get(&format!("/api/v1/batches/{batch}/readings.csv")).await;
    assert_eq!(answer.status, 200, "{}", answer.text);
    assert!(answer.headers["content-type"].to_str().unwrap().starts_with("text/csv; charset=utf-8"));
    assert!(answer.headers["content-disposition"].to_str().unwrap().contains(&format!("batch-{batch}-readings.csv")));
    let lines: Vec<&str> = answer.text.split("\r\n").collect();
    assert_eq!(lines[0], "seq,at,minutes_since_flame_out,place,temperature_c,note");
    assert_eq!(lines.last(), Some(&""), "the last line ends as the others do");

    let mut table = csv::Reader::from_reader(answer.text.as_bytes());
    let rows: Vec<Vec<String>> = table.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect();
    let column = |index: usize| rows.iter().map(|row| row[index].as_str()).collect::<Vec<_>>();
    assert_eq!(column(4), ["-3.5", "70.5", "14"], "in the order they were read; what was struck out is not here");
    assert_eq!(column(3), ["wort", "wort", "bath"]);
    assert_eq!(column(5)[1], format!("'{}", noted["note"].as_str().unwrap()));
    let minutes: Vec<f64> = column(2).iter().map(|text| text.parse().unwrap()).collect();
    for (minutes, wanted) in minutes.iter().zip([-2.0, 2.0, 6.0]) {
        assert!((minutes - wanted).abs() < 0.05, "{minutes} for {wanted}");
    }
    assert_eq!(column(1)[1].len(), ago(0.0).len());
}

#[tokio::test]
async fn minutes_are_left_empty_before_the_flame_is_out() {
    let (house, batch) = House::brewing().await;
    let path = format!("/api/v1/batches/{batch}/readings.csv");
    assert_eq!(house.get(&path).await.text.lines().count(), 1);
    house.append(batch, &[wort(1.0, 60.0)]).await;
    let text = house.get(&path).await.text;
    assert!(text.lines().nth(1).unwrap().contains("Z,,wort,60,"), "{text}");
}
