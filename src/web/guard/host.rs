//! Only hosts that nobody else can own.
//!
//! A stranger's page reaches this server under a *name* of the stranger's (DNS
//! rebinding). An IP address, `localhost` and this machine's own name, alone or
//! under `.local`, cannot be such a name, so they are answered, with the names
//! that `--host` gives, and all else is not.

use std::{
    net::{IpAddr, Ipv4Addr, Ipv6Addr},
    sync::LazyLock,
};

use axum::{
    extract::{Request, State},
    http::{header, request::Parts, uri::Authority},
    middleware::Next,
    response::{IntoResponse, Response},
};

use crate::web::{App, AppError};

/// This machine's own name, in lower case, where the system tells it.
static OWN_NAME: LazyLock<Option<String>> = LazyLock::new(|| {
    let told = std::fs::read_to_string("/proc/sys/kernel/hostname").ok();
    let told = told.or_else(|| std::env::var("COMPUTERNAME").ok()).or_else(|| std::env::var("HOSTNAME").ok())?;
    let name = told.trim().to_ascii_lowercase();
    (!name.is_empty()).then_some(name)
});

pub(crate) async fn check(State(app): State<App>, request: Request, next: Next) -> Response {
    let (parts, body) = request.into_parts();
    match asked_of(&parts) {
        Some(host) if is_ours(host.host(), OWN_NAME.as_deref(), &app.options.hosts) => {
            next.run(Request::from_parts(parts, body)).await
        }
        _ => AppError::Misdirected.into_response(),
    }
}

/// The one host a request names; nothing where it names none, or two.
pub(super) fn asked_of(parts: &Parts) -> Option<Authority> {
    let mut hosts = parts.headers.get_all(header::HOST).iter();
    let header = hosts.next().map(|host| host.to_str().ok()?.parse::<Authority>().ok());
    if hosts.next().is_some() {
        return None;
    }
    let authority = match (parts.uri.authority(), header) {
        (Some(of_uri), Some(Some(of_header))) if *of_uri == of_header => of_header,
        (Some(of_uri), None) => of_uri.clone(),
        (None, Some(of_header)) => of_header?,
        _ => return None,
    };
    is_host_and_port(&authority).then_some(authority)
}

/// Neither `user@host`, nor `host:` that has lost its port, nor a port beyond the last.
pub(super) fn is_host_and_port(authority: &Authority) -> bool {
    match authority.as_str().strip_prefix(authority.host()) {
        Some("") => true,
        Some(port) => {
            let number = port.strip_prefix(':').filter(|digits| digits.bytes().all(|byte| byte.is_ascii_digit()));
            number.and_then(|digits| digits.parse::<u16>().ok()).is_some_and(|number| number > 0)
        }
        None => false,
    }
}

fn is_ours(host: &str, own_name: Option<&str>, given: &[String]) -> bool {
    if address(host).is_some() || host.eq_ignore_ascii_case("localhost") {
        return true;
    }
    let is_own = |own: &str| {
        let rest = host.get(..own.len()).filter(|start| start.eq_ignore_ascii_case(own)).map(|_| &host[own.len()..]);
        rest.is_some_and(|rest| rest.is_empty() || rest.eq_ignore_ascii_case(".local"))
    };
    own_name.is_some_and(is_own) || given.iter().any(|given| given.eq_ignore_ascii_case(host))
}

/// Whether a host is this machine, as nobody but this machine calls it.
pub(super) fn is_loopback(host: &str) -> bool {
    host.eq_ignore_ascii_case("localhost") || address(host).is_some_and(|address| address.is_loopback())
}

/// The address a host is, where it is one; an IPv6 address stands in brackets.
fn address(host: &str) -> Option<IpAddr> {
    match host.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')) {
        Some(address) => address.parse::<Ipv6Addr>().ok().map(IpAddr::V6),
        None => host.parse::<Ipv4Addr>().ok().map(IpAddr::V4),
    }
}

#[cfg(test)]
mod tests {
    use axum::http::Request;

    use super::*;

    fn answers(uri: &str, hosts: &[&str]) -> bool {
        let mut request = Request::builder().uri(uri);
        for host in hosts {
            request = request.header(header::HOST, *host);
        }
        let (parts, ()) = request.body(()).expect("a request").into_parts();
        asked_of(&parts).is_some_and(|authority| is_ours(authority.host(), Some("maltings"), &["brewery.lan".into()]))
    }

    #[test]
    fn hosts_that_nobody_else_can_own_are_answered() {
        for host in [
            "127.0.0.1",
            "127.0.0.1:4710",
            "192.168.1.20:4710",
            "10.0.0.7",
            "8.8.8.8",
            "[::1]",
            "[::1]:4710",
            "[fe80::1]:4710",
            "[2001:db8::7]",
            "localhost",
            "localhost:4710",
            "LOCALHOST:4710",
            "maltings",
            "MALTINGS:4710",
            "maltings.local",
            "Maltings.Local:4710",
            "brewery.lan",
            "Brewery.LAN:4710",
        ] {
            assert!(answers("/", &[host]), "{host} is ours");
        }
    }

    #[test]
    fn every_other_host_is_refused() {
        for host in [
            "evil.example",
            "evil.example:4710",
            "localhost.evil.example",
            "127.0.0.1.evil.example",
            "local",
            ".local",
            "a..local",
            "brewery.local",
            "maltings.local.",
            "maltings.localx",
            "x.maltings.local",
            "maltings.lan",
            "brewery",
            "brewery.lan.evil.example",
            "localhost.",
            "evil.example.local.com",
            "maltings.evil.example",
            "127.0.0.1:",
            "127.0.0.1:0",
            "127.0.0.1:99999",
            "user@127.0.0.1",
            "[::1",
            "::1",
            "[evil.example]",
            "0x7f000001",
            "127.1",
            "2130706433",
            "[fe80::1%25eth0]",
            "",
        ] {
            assert!(!answers("/", &[host]), "{host} is not ours");
        }
    }

    #[test]
    fn a_request_has_to_name_one_host() {
        assert!(!answers("/", &[]), "none");
        assert!(!answers("/", &["localhost", "evil.example"]), "two");
        assert!(!answers("/", &["localhost", "localhost"]), "the same twice");
        assert!(answers("http://localhost:4710/", &["localhost:4710"]), "the same in the address");
        assert!(!answers("http://evil.example/", &["localhost"]), "another in the address");
        assert!(!answers("http://localhost/", &["evil.example"]), "another in the header");
        assert!(!answers("http://localhost/", &["[::1"]), "a broken one in the header");
    }
}
