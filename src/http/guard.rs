//! The guard before the TCP port.
//!
//! A page of a stranger that is open in the same browser can reach a port on this machine, and a name that it rebinds
//! points here too. So the Host must be ours before anything else is looked at; a write must be JSON (which a foreign
//! page cannot send without asking first) or a form with the token of this start; and its origin must be ours.

use super::problem::Problem;
use super::site::Site;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::net::IpAddr;

/// Such a refusal is one sentence.
const DETAIL_MAX: usize = 4096;

pub async fn guard(State(site): State<Site>, request: Request, next: Next) -> Response {
    let headers = request.headers();
    let host = text(headers, header::HOST).or(request.uri().authority().map(|authority| authority.as_str()));
    let Some(host) = host.filter(|host| is_ours(host, &site.names)) else {
        let asked = host.unwrap_or("no host");
        tracing::warn!(host = asked, "refused a request for a host that is not ours");
        let detail =
            format!("this daemon does not answer for {asked}; ask for localhost or an address, or name the host in http.names");
        return Problem::new(StatusCode::MISDIRECTED_REQUEST, "not-our-host", detail).into_response();
    };
    if !matches!(*request.method(), Method::GET | Method::HEAD) {
        let foreign = text(headers, header::ORIGIN).is_some_and(|origin| !same_origin(origin, host));
        let fetched = headers.get("sec-fetch-site").and_then(|site| site.to_str().ok());
        if foreign || fetched.is_some_and(|site| !matches!(site, "same-origin" | "none")) {
            let detail = "a write must come from a page of this daemon, or from a program that sends no Origin";
            return Problem::new(StatusCode::FORBIDDEN, "foreign-origin", detail).into_response();
        }
    }
    next.run(request).await
}

/// What every answer carries.
pub async fn headers(request: Request, next: Next) -> Response {
    let mut response = as_problem(next.run(request).await).await;
    let headers = response.headers_mut();
    let policy =
        "default-src 'self'; style-src 'self'; script-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'";
    // The countdown may stand in a page of ours, and says so itself.
    headers.entry(header::CONTENT_SECURITY_POLICY).or_insert(HeaderValue::from_static(policy));
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("same-origin"));
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

/// What axum refuses by itself, such as a path whose number is none, is told as a problem document too.
async fn as_problem(response: Response) -> Response {
    let status = response.status();
    let kind = response.headers().get(header::CONTENT_TYPE).map_or(&b""[..], HeaderValue::as_bytes);
    if !(status.is_client_error() || status.is_server_error()) || !kind.starts_with(b"text/plain") {
        return response;
    }
    let words = axum::body::to_bytes(response.into_body(), DETAIL_MAX).await.unwrap_or_default();
    Problem::new(status, "not-understood", String::from_utf8_lossy(&words)).into_response()
}

fn text(headers: &HeaderMap, name: header::HeaderName) -> Option<&str> {
    headers.get(name)?.to_str().ok()
}

/// An address cannot be rebound by a stranger's name server; a name can, so names must be known.
fn is_ours(host: &str, names: &[String]) -> bool {
    let name = without_port(host);
    let literal = name.trim_start_matches('[').trim_end_matches(']');
    literal.parse::<IpAddr>().is_ok()
        || name.eq_ignore_ascii_case("localhost")
        || names.iter().any(|known| known.eq_ignore_ascii_case(name))
}

fn without_port(host: &str) -> &str {
    match host.rsplit_once(':') {
        Some((name, port)) if (name.ends_with(']') || !name.contains(':')) && port.bytes().all(|byte| byte.is_ascii_digit()) => {
            name
        }
        _ => host,
    }
}

fn same_origin(origin: &str, host: &str) -> bool {
    let authority = origin.strip_prefix("http://").or_else(|| origin.strip_prefix("https://"));
    authority.is_some_and(|authority| authority.eq_ignore_ascii_case(host))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_our_hosts() {
        let names = ["bench.local".to_owned()];
        for host in ["localhost", "localhost:8737", "127.0.0.1:8737", "[::1]:8737", "::1", "192.168.1.5", "Bench.Local:80"] {
            assert!(is_ours(host, &names), "{host}");
        }
        for host in ["evil.example", "localhost.evil.example", "127.0.0.1.evil.example:8737", "bench.local.evil", ""] {
            assert!(!is_ours(host, &names), "{host}");
        }
    }

    #[test]
    fn an_origin_is_ours_only_with_host_and_port() {
        assert!(same_origin("http://localhost:8737", "localhost:8737"));
        assert!(!same_origin("http://localhost:9999", "localhost:8737"));
        assert!(!same_origin("null", "localhost:8737"));
    }
}
