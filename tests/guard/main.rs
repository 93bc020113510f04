//! Who gets in: asked in-process as phones, strangers and the web ask it, and
//! over real connections where the bytes themselves matter.

mod forms;
mod hosts;
mod house;
mod pairing;
mod probes;
mod raw;
mod routes;
mod sessions;
mod strangers;
mod tls;
