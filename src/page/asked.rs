//! Whether a request is one of the page's own: to a name of this server, from no other site, with a
//! cookie that it gave out.

use std::net::{IpAddr, SocketAddr};

use hyper::header::{COOKIE, HOST, HeaderName, ORIGIN};
use hyper::{HeaderMap, Method, Request};

/// Why a request is answered with nothing of the session.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Foreign {
    /// It names another host: a name that somebody had lead here, so that a foreign page is taken for this one.
    Host,
    /// A page of another site sent it.
    Origin,
}

/// Checks which name a request was sent to, and which page sent it. What changes something has to say that it comes
/// from this page; what only reads may leave it out, as browsers do.
pub(super) fn check<B>(request: &Request<B>, served: SocketAddr) -> Result<(), Foreign> {
    let host = only(request.headers(), HOST).filter(|host| is_own(host, served)).ok_or(Foreign::Host)?;
    if request.uri().authority().is_some_and(|named| named.as_str() != host) {
        return Err(Foreign::Host);
    }
    let own = format!("http://{host}");
    match (only(request.headers(), ORIGIN), request.method()) {
        (Some(origin), _) if origin.eq_ignore_ascii_case(&own) => Ok(()),
        (None, &Method::GET) if !request.headers().contains_key(ORIGIN) => Ok(()),
        _ => Err(Foreign::Origin),
    }
}

/// Returns whether a host is an address, or this machine's own name for itself, with the port that is served: no name
/// that somebody else can lead here. On the loopback interface it has to be the loopback's.
fn is_own(host: &str, served: SocketAddr) -> bool {
    const HTTP: u16 = 80;
    let is_local = |ip: IpAddr| ip.is_loopback() || !served.ip().is_loopback();
    if let Ok(address) = host.parse::<SocketAddr>() {
        return address.port() == served.port() && is_local(address.ip());
    }
    let (name, port) = match host.rsplit_once(':') {
        Some((name, port)) if !host.ends_with(']') => (name, port.parse().ok()),
        _ => (host, Some(HTTP)),
    };
    let bare = name.trim_start_matches('[').trim_end_matches(']');
    let is_named = name.eq_ignore_ascii_case("localhost")
        || (port == Some(HTTP) && bare.parse::<IpAddr>().is_ok_and(is_local));
    port == Some(served.port()) && is_named
}

/// Returns the header's value where it stands there once.
fn only(headers: &HeaderMap, name: HeaderName) -> Option<&str> {
    let mut values = headers.get_all(name).iter();
    values.next().filter(|_| values.next().is_none())?.to_str().ok()
}

/// Returns the name of the cookie: cookies are the same for all ports of a host, and another session may be
/// served beside this one.
pub(super) fn cookie_name(served: SocketAddr) -> String {
    format!("spoolproof-{}", served.port())
}

pub(super) fn cookie(headers: &HeaderMap, served: SocketAddr) -> Option<&str> {
    let name = cookie_name(served);
    let pairs = headers.get_all(COOKIE).iter().filter_map(|value| value.to_str().ok());
    let mut pairs = pairs.flat_map(|value| value.split(';')).filter_map(|pair| pair.trim().split_once('='));
    pairs.find(|(known, _)| *known == name).map(|(_, cookie)| cookie)
}
