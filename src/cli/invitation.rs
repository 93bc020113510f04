//! The one-time link and its picture, as a terminal shows them.

use anyhow::Context;
use time::OffsetDateTime;

use super::say;
use crate::store::{OPEN_FOR, Store};
use crate::web::devices::Qr;

/// Opens a way in and prints it: the picture, the link, and the code where one is asked for.
pub(super) async fn print(store: &Store, address: &str, with_code: bool) -> anyhow::Result<()> {
    let invitation = store
        .invite(with_code, OffsetDateTime::now_utc())
        .await
        .context("No pairing link could be written to the data file.")?;
    let link = format!("{address}/pair/{}", invitation.link);
    say(Qr::of(&link)?.for_terminal())?;
    say(format_args!("Pair a device: {link}"))?;
    if let Some(code) = invitation.code {
        say(format_args!("or open {address}/pair there and type {} {}", &code[..3], &code[3..]))?;
    }
    say(format_args!("Good for one device, for {} minutes.", OPEN_FOR.whole_minutes()))?;
    Ok(())
}
