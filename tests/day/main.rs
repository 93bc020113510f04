//! One whole brew day over HTTP, from an empty book to the final gravity: every
//! entry through the forms a browser without scripts is offered, every figure
//! against numbers worked out by hand.

mod brewer;
mod by_hand;
mod figures;
mod script;

#[allow(dead_code, reason = "the pages' own tests use the rest of it")]
#[path = "../pages/book.rs"]
mod book;
