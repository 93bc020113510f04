//! Who may ask at all.
//!
//! The server speaks plain HTTP on a home network, where a browser sends no
//! `Sec-Fetch-Site` and a stranger's web page can reach it through the brewer's
//! own browser. What stands against that is on every route, in this order:
//!
//! - [`headers`]: a page runs no code but its own files and stands in no frame.
//! - [`host`]: only addresses and names that nobody else can own are answered,
//!   so a name rebound to this address reads nothing. It is never switched off.
//! - [`pace`]: nobody asks faster than a household of phones does.
//! - [`origin`]: whatever changes something has to come from a page of ours.
//! - [`door`]: whoever is not at the machine itself has to be let in first;
//!   [`session`] is what a device proves itself with, [`streams`] what it follows.
//! - [`form_token`]: a form counts for the device it was shown to, and what it
//!   makes is made once.

pub mod caller;
pub(crate) mod door;
pub mod form_token;
pub mod headers;
pub mod host;
pub mod origin;
pub(crate) mod pace;
pub(crate) mod session;
pub(crate) mod streams;

pub use caller::Caller;
pub(crate) use form_token::Sent;
