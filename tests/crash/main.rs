//! Nothing that was acknowledged is lost, and nothing is ever half there.
//!
//! The real binary is served from a data file of its own and treated badly:
//! killed ([`kills`], [`boundaries`]), its power cut ([`power`]), its disk full,
//! broken or read-only ([`faults`], and under a copy of it: [`copies`]), its answers lost ([`once`]), and kept busy
//! for long ([`soak`]). What only a disk can do is done by `shim.c` between the
//! server and the real one, which is why all of this runs on Linux only.
//!
//! How much is done is told by the environment, so that the same tests are a
//! minute in the gate and an hour on purpose:
//!
//! | | in the gate | |
//! | --- | --- | --- |
//! | `GYLEBOOK_KILLS` | 200 | servers killed at random times |
//! | `GYLEBOOK_CUTS` | 300 | power cuts |
//! | `GYLEBOOK_POSTS` | 60 | posts sent eight times at once |
//! | `GYLEBOOK_REQUESTS` | 4000 | mixed requests to one server |
//! | `GYLEBOOK_SEED` | the time | what chance follows; each test prints it |
#![cfg(target_os = "linux")]
#![expect(clippy::print_stdout, reason = "how much was done, and the seed to do it again")]

mod boundaries;
mod chance;
mod client;
mod copies;
mod faults;
mod form;
mod house;
mod kills;
mod ledger;
mod once;
mod power;
mod shim;
mod soak;
mod ways;
