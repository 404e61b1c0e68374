//! Health and metrics.

use super::problem::Problem;
use super::site::Site;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

/// The process answers.
#[utoipa::path(get, path = "/healthz", responses((status = 200, body = String)))]
pub async fn alive() -> &'static str {
    "ok\n"
}

/// The store takes events. A scale that is absent does not make the daemon unready.
#[utoipa::path(get, path = "/readyz", responses((status = 200, body = String), (status = 503, body = Problem)))]
pub async fn ready(State(site): State<Site>) -> Response {
    let degraded = (site.pulse)().degraded;
    if degraded.is_empty() {
        return "ready\n".into_response();
    }
    Problem::new(StatusCode::SERVICE_UNAVAILABLE, "degraded", degraded.join("; ")).into_response()
}

/// Counters as Prometheus text.
#[utoipa::path(get, path = "/metrics", responses((status = 200, body = String)))]
pub async fn metrics(State(site): State<Site>) -> Response {
    let kind = "application/openmetrics-text; version=1.0.0; charset=utf-8";
    ([(header::CONTENT_TYPE, kind)], (site.pulse)().metrics).into_response()
}
