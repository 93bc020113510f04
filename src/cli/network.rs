//! Where the server listens, and where other devices find it.

use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};

use anyhow::anyhow;

/// Where it listens for this machine alone.
pub(super) const HERE: &str = "127.0.0.1:4710";
/// Where it listens for the network.
pub(super) const EVERYWHERE: &str = "0.0.0.0:4710";

/// An address and a port, so that a slip in either is wrong usage, not a failure.
pub(super) fn address(text: &str) -> Result<String, String> {
    let wanted = || "an address and a port are needed, like 127.0.0.1:4710".to_owned();
    if text.parse::<SocketAddr>().is_ok() {
        return Ok(text.to_owned());
    }
    let (host, port) = text.rsplit_once(':').ok_or_else(wanted)?;
    if is_name(host) && port.parse::<u16>().is_ok() { Ok(text.to_owned()) } else { Err(wanted()) }
}

/// A name the server shall answer to, without a port.
pub(super) fn host(text: &str) -> Result<String, String> {
    let wanted = || "a name is needed, without a port, like brewery.lan".to_owned();
    if is_name(text) { Ok(text.to_ascii_lowercase()) } else { Err(wanted()) }
}

fn is_name(text: &str) -> bool {
    let is_label = |label: &str| {
        !label.is_empty() && label.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_'))
    };
    text.split('.').all(is_label)
}

/// What a certificate for a server that listens here is made out to.
pub(super) fn names(listening: SocketAddr, hosts: &[String]) -> Vec<String> {
    let own = own_address().filter(|_| listening.ip().is_unspecified()).unwrap_or(listening.ip());
    let mut names = vec!["localhost".into(), Ipv4Addr::LOCALHOST.to_string(), own.to_string()];
    names.extend_from_slice(hosts);
    names.sort();
    names.dedup();
    names
}

/// The address by which other devices reach a server that listens here, as the
/// first part of a link.
pub(super) fn link(listening: SocketAddr, hosts: &[String], is_secure: bool) -> String {
    let scheme = if is_secure { "https" } else { "http" };
    let reached =
        if listening.ip().is_unspecified() { own_address().unwrap_or(listening.ip()) } else { listening.ip() };
    match hosts.first() {
        Some(name) => format!("{scheme}://{name}:{}", listening.port()),
        None => format!("{scheme}://{}", SocketAddr::new(reached, listening.port())),
    }
}

/// This machine's address on its network: the one it would ask others from.
/// Nothing is sent to find out.
fn own_address() -> Option<IpAddr> {
    // An address of documentation [RFC-5737] takes the way to the internet; the others
    // the way to a home network without one.
    let towards = [[192, 0, 2, 1], [192, 168, 255, 254], [10, 255, 255, 254], [224, 0, 0, 251]];
    let own = |there: [u8; 4]| {
        let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
        socket.connect((Ipv4Addr::from(there), 9)).ok()?;
        Some(socket.local_addr().ok()?.ip())
    };
    towards.into_iter().filter_map(own).find(|address| !address.is_loopback() && !address.is_unspecified())
}

pub(super) fn cannot_listen(listen: &str, why: &io::Error) -> anyhow::Error {
    match why.kind() {
        io::ErrorKind::AddrInUse => anyhow!(
            "{listen} is taken by another program, maybe another Gylebook. Stop that one, or name another with --listen."
        ),
        _ => anyhow!("{listen} can't be listened on ({why}). Name another with --listen."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_has_a_host_and_a_port() {
        for right in ["127.0.0.1:0", "[::1]:4710", "localhost:80", "shelf-2.local:4710"] {
            assert_eq!(address(right).as_deref(), Ok(right));
        }
        for wrong in ["", "4710", ":4710", "localhost", "localhost:", "localhost:70000", "a b:1", "::1:x"] {
            assert!(address(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_host_is_a_name_alone() {
        assert_eq!(host("Brewery.LAN").as_deref(), Ok("brewery.lan"));
        for wrong in ["", "brewery:4710", "http://brewery", "a..b", "brewery.", "*"] {
            assert!(host(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_link_names_what_other_devices_can_reach() {
        let at = |text: &str| text.parse::<SocketAddr>().unwrap();
        assert_eq!(link(at("192.168.1.20:4710"), &[], false), "http://192.168.1.20:4710");
        assert_eq!(link(at("[fe80::7]:80"), &[], true), "https://[fe80::7]:80");
        assert_eq!(link(at("0.0.0.0:4710"), &["brewery.lan".into()], false), "http://brewery.lan:4710");
    }
}
