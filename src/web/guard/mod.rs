//! Who may ask at all.
//!
//! The server speaks plain HTTP on a home network, where a browser sends no
//! `Sec-Fetch-Site` and a stranger's web page can reach it through the brewer's
//! own browser. Three things stand against that, on every route:
//!
//! - [`host`]: only addresses and names that nobody else can own are answered,
//!   so a name rebound to this address reads nothing. It is never switched off.
//! - [`origin`]: whatever changes something has to come from a page of ours.
//! - [`headers`]: a page runs no code but its own files and stands in no frame.
//!
//! Which device is asking (pairing, sessions) is decided behind these: it is
//! one more layer between [`origin`] and the routes.

pub mod headers;
pub mod host;
pub mod origin;
