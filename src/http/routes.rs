//! The table of routes.

use super::site::Site;
use super::{api, check_pages, feed_pages, guard, health, live, openapi, pages, place_pages, price_pages, problem};
use axum::Router;
use axum::routing::{get, patch, post, put};

/// Larger bodies are refused: no write here needs more than a few hundred bytes.
const BODY_MAX: usize = 64 * 1024;

/// Which door a request came through: the TCP port is guarded by Host and Origin, the socket by its file mode.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Door {
    Port,
    Socket,
}

/// The routes behind one door.
pub fn router(site: Site, door: Door) -> Router {
    let routes = Router::new()
        .merge(api::checks::routes())
        .merge(check_pages::routes())
        .merge(api::feeds::routes())
        .merge(feed_pages::routes())
        .merge(api::prices::routes())
        .merge(price_pages::routes())
        .merge(api::places::routes())
        .merge(api::kerb::routes())
        .merge(api::wire::routes())
        .merge(api::ranking::routes())
        .merge(api::load_sheet::routes())
        .merge(api::when::routes())
        .merge(place_pages::routes())
        .merge(api::tickets::routes())
        .merge(api::buyers::routes())
        .merge(super::ticket_pages::routes())
        .merge(api::trips::routes())
        .merge(api::plan::routes())
        .merge(super::trip_pages::routes())
        .route("/", get(pages::bench))
        .route("/bins", get(pages::bins).post(pages::make_bin))
        .route("/grades", post(pages::make_grade))
        .route("/buyers", post(pages::make_buyer))
        .route("/quotes", post(pages::give_quote))
        .route("/reports/yard-run", get(api::reports::yard_run_html))
        .route("/reports/hour", get(api::hour::hour_html))
        .route("/density", get(api::density::page))
        .route("/benches/{bench}/choose", post(pages::choose))
        .route("/benches/{bench}/session", post(pages::session))
        .route("/drops/{drop}", post(pages::mend))
        .route("/benches/{bench}/manner", post(pages::manner))
        .route("/bins/{number}/missing", post(pages::settle_missing))
        .route("/stillnesses/{stillness}", post(pages::tell_stillness))
        .route("/benches/{bench}/hand", post(pages::settle_hand))
        .route("/benches/{bench}/intake", post(pages::intake))
        .route("/lots/{lot}", post(pages::settle_lot))
        .route("/style.css", get(pages::style))
        .route("/live.js", get(pages::script))
        .route("/v1/benches/{bench}", get(api::bench::show))
        .route("/v1/benches/{bench}/live", get(live::stream))
        .route("/v1/benches/{bench}/bin", put(api::bench::choose))
        .route("/v1/benches/{bench}/manner", put(api::bench::manner))
        .route("/v1/benches/{bench}/press", put(api::bench::press))
        .route("/v1/benches/{bench}/intake", put(api::lots::intake))
        .route("/v1/lots", get(api::lots::list))
        .route("/v1/lots/{lot}/feed", put(api::lots::tell))
        .route("/v1/lots/{lot}/close", post(api::lots::close))
        .route("/v1/lots/{lot}/reopen", post(api::lots::reopen))
        .route("/v1/lots/{lot}/minutes", post(api::lots::minutes))
        .route("/v1/benches/{bench}/lots", post(api::lots::enter))
        .route("/v1/benches/{bench}/sessions", post(api::sessions::start))
        .route("/v1/benches/{bench}/drops", post(api::drops::enter))
        .route("/v1/sessions", get(api::sessions::list))
        .route("/v1/sessions/{session}/pause", post(api::sessions::pause))
        .route("/v1/sessions/{session}/resume", post(api::sessions::resume))
        .route("/v1/sessions/{session}/end", post(api::sessions::end))
        .route("/v1/sessions/{session}/legs", post(api::sessions::leg))
        .route("/v1/sessions/{session}/stillnesses/{stillness}", post(api::sessions::tell_stillness))
        .route("/v1/bins", get(api::bins::list).post(api::bins::make))
        .route("/v1/bins/{number}", get(api::bins::show).patch(api::bins::change))
        .route("/v1/bins/{number}/empty", post(api::bins::empty))
        .route("/v1/bins/{number}/tip", post(api::bins::tip))
        .route("/v1/bins/{number}/missing", post(api::bins::settle_missing))
        .route("/v1/bins/{number}/stock", post(api::bins::stock))
        .route("/v1/drops", get(api::drops::list))
        .route("/v1/drops.csv", get(api::drops::csv))
        .route("/v1/drops/{drop}/void", post(api::drops::void))
        .route("/v1/drops/{drop}/move", post(api::drops::shift))
        .route("/v1/drops/{drop}/adjust", post(api::drops::adjust))
        .route("/v1/to-settle", get(api::drops::to_settle))
        .route("/v1/drops/{drop}/was-bin", post(api::drops::was_bin))
        .route("/v1/drops/{drop}/doubt", post(api::drops::doubt))
        .route("/v1/benches/{bench}/hand", post(api::drops::settle_hand))
        .route("/v1/grades", get(api::names::grades).post(api::names::make_grade))
        .route("/v1/grades/{name}", patch(api::names::change_grade))
        .route("/v1/feeds", get(api::names::feeds).post(api::names::make_feed))
        .route("/v1/feeds/{name}", patch(api::names::change_feed))
        .route("/v1/buyers", get(api::names::buyers).post(api::names::make_buyer))
        .route("/v1/buyers/{name}", patch(api::names::change_buyer))
        .route("/v1/quotes", get(api::quotes::list).post(api::quotes::give))
        .route("/v1/quotes/{quote}/withdraw", post(api::quotes::withdraw))
        .route("/v1/reports/yard-run", get(api::reports::yard_run))
        .route("/v1/reports/yard-run.json", get(api::reports::yard_run_json))
        .route("/v1/reports/yard-run.csv", get(api::reports::yard_run_csv))
        .route("/v1/reports/yard-run.html", get(api::reports::yard_run_html))
        .route("/v1/reports/hour", get(api::hour::hour))
        .route("/v1/reports/hour.json", get(api::hour::hour_json))
        .route("/v1/reports/hour.csv", get(api::hour::hour_csv))
        .route("/v1/reports/hour.html", get(api::hour::hour_html))
        .route("/v1/check-weights", get(api::checks::list))
        .route("/v1/benches/{bench}/check-weights", post(api::checks::lay))
        .route("/v1/density", get(api::density::show))
        .route("/openapi.json", get(openapi::serve))
        .route("/healthz", get(health::alive))
        .route("/readyz", get(health::ready))
        .route("/metrics", get(health::metrics))
        .merge(api::week::routes())
        .fallback(problem::no_such_page)
        .method_not_allowed_fallback(problem::no_such_method)
        .layer(axum::extract::DefaultBodyLimit::max(BODY_MAX));
    let guarded = match door {
        Door::Port => routes.layer(axum::middleware::from_fn_with_state(site.clone(), guard::guard)),
        Door::Socket => routes,
    };
    guarded.layer(axum::middleware::from_fn(guard::headers)).with_state(site)
}
