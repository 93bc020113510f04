//! How fast anybody may ask.
//!
//! Each address has a bucket that fills at a steady rate and is emptied one
//! request at a time. The pace is far above a household of phones; it is there
//! so that one device gone wild, or one that guesses, does not keep the others
//! waiting. The machine itself is never held up.

use std::{
    collections::HashMap,
    net::{IpAddr, Ipv4Addr},
    sync::{Arc, Mutex, PoisonError},
    time::Instant,
};

use axum::{
    extract::{Request, State},
    http::Method,
    middleware::Next,
    response::{IntoResponse, Response},
};

use super::door;
use crate::web::{App, AppError};

/// A page with its files and its entries is some twenty requests.
const ANY: Pace = Pace { at_once: 400.0, per_second: 40.0 };
/// Pairing: a person who mistypes a code, not a script that guesses.
const PAIRING: Pace = Pace { at_once: 10.0, per_second: 1.0 / 6.0 };
/// Addresses remembered. Beyond it the full buckets are forgotten, which say nothing; where
/// none is full somebody makes addresses up, and all are.
const ADDRESSES_MOST: usize = 4096;

struct Pace {
    at_once: f64,
    per_second: f64,
}

#[derive(Debug)]
struct Bucket {
    left: f64,
    at: Instant,
}

/// The buckets of all addresses.
#[derive(Clone, Debug, Default)]
pub(crate) struct Paces(Arc<Mutex<HashMap<(IpAddr, bool), Bucket>>>);

impl Paces {
    fn takes(&self, from: IpAddr, is_pairing: bool, now: Instant) -> bool {
        let pace = if is_pairing { &PAIRING } else { &ANY };
        let mut buckets = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if buckets.len() >= ADDRESSES_MOST {
            buckets.retain(|(_, is_pairing), bucket| {
                let pace = if *is_pairing { &PAIRING } else { &ANY };
                bucket.filled(pace, now) < pace.at_once
            });
            if buckets.len() >= ADDRESSES_MOST {
                buckets.clear();
            }
        }
        let bucket = buckets.entry((from, is_pairing)).or_insert(Bucket { left: pace.at_once, at: now });
        bucket.left = bucket.filled(pace, now);
        bucket.at = now;
        let takes = bucket.left >= 1.0;
        if takes {
            bucket.left -= 1.0;
        }
        takes
    }
}

impl Bucket {
    fn filled(&self, pace: &Pace, now: Instant) -> f64 {
        let seconds = now.saturating_duration_since(self.at).as_secs_f64();
        (self.left + seconds * pace.per_second).min(pace.at_once)
    }
}

pub(crate) async fn check(State(app): State<App>, request: Request, next: Next) -> Response {
    let (parts, body) = request.into_parts();
    if app.options.lan {
        let peer = door::peer(&parts).unwrap_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED));
        let is_pairing = parts.method == Method::POST && parts.uri.path() == "/pair";
        if !peer.is_loopback() && !app.paces.takes(peer, is_pairing, Instant::now()) {
            return AppError::TooMany.into_response();
        }
    }
    next.run(Request::from_parts(parts, body)).await
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    const PHONE: IpAddr = IpAddr::V4(Ipv4Addr::new(192, 168, 1, 30));
    const OTHER: IpAddr = IpAddr::V4(Ipv4Addr::new(192, 168, 1, 31));

    #[test]
    fn a_burst_is_taken_and_then_the_steady_rate() {
        let (paces, start) = (Paces::default(), Instant::now());
        let taken = (0..100).filter(|_| paces.takes(PHONE, true, start)).count();
        assert_eq!(taken, 10);
        assert!(paces.takes(OTHER, true, start), "another address is not held up by it");
        assert!(paces.takes(PHONE, false, start), "nor is what else that one asks for");
        let later = start + Duration::from_secs(60);
        let taken = (0..100).filter(|_| paces.takes(PHONE, true, later)).count();
        assert_eq!(taken, 10, "ten a minute");
    }

    #[test]
    fn many_addresses_are_not_remembered_for_ever() {
        let (paces, start) = (Paces::default(), Instant::now());
        for apart in [Duration::ZERO, Duration::from_millis(10)] {
            for number in 0..20_000_u32 {
                paces.takes(IpAddr::V4(Ipv4Addr::from(number)), false, start + apart * number);
                assert!(paces.0.lock().unwrap().len() <= ADDRESSES_MOST);
            }
        }
    }
}
