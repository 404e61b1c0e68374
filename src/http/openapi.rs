//! The OpenAPI document, made from the handlers themselves.

use super::{api, health, live};
use axum::Json;
use utoipa::OpenApi;

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Bismar",
        description = "A weigh station for the home workshop. Masses carry their unit in the key and decimals are strings. \
                       Every write may carry an Idempotency-Key; errors are problem documents (RFC 9457)."
    ),
    paths(
        api::bench::show,
        api::bench::choose,
        api::bench::manner,
        api::bench::press,
        api::lots::intake,
        api::lots::list,
        api::lots::tell,
        api::lots::enter,
        api::lots::close,
        api::lots::reopen,
        api::lots::minutes,
        api::feeds::describe,
        api::feeds::wait,
        api::feeds::cost,
        api::feeds::arrivals,
        api::feeds::arrivals_csv,
        api::feeds::arrive,
        api::feeds::spendings,
        api::feeds::spendings_csv,
        api::feeds::spend,
        api::feeds::times,
        api::feeds::times_csv,
        api::feeds::spend_minutes,
        api::feeds::void,
        api::feeds::trials,
        api::feeds::begin_trial,
        api::feeds::end_trial,
        live::stream,
        api::tickets::set_out,
        api::tickets::list,
        api::tickets::csv,
        api::tickets::take,
        api::tickets::import,
        api::tickets::show,
        api::tickets::tie,
        api::tickets::void,
        api::tickets::settle,
        api::tickets::pay,
        api::tickets::away,
        api::sessions::list,
        api::sessions::start,
        api::sessions::pause,
        api::sessions::resume,
        api::sessions::end,
        api::sessions::leg,
        api::sessions::tell_stillness,
        api::bins::list,
        api::bins::show,
        api::bins::make,
        api::bins::change,
        api::bins::empty,
        api::bins::tip,
        api::bins::stock,
        api::bins::settle_missing,
        api::drops::list,
        api::drops::csv,
        api::drops::enter,
        api::drops::void,
        api::drops::shift,
        api::drops::adjust,
        api::drops::to_settle,
        api::drops::was_bin,
        api::drops::doubt,
        api::drops::settle_hand,
        api::names::grades,
        api::names::make_grade,
        api::names::change_grade,
        api::names::feeds,
        api::names::make_feed,
        api::names::change_feed,
        api::names::buyers,
        api::names::make_buyer,
        api::names::change_buyer,
        api::quotes::list,
        api::quotes::give,
        api::quotes::withdraw,
        api::reports::yard_run,
        api::reports::yard_run_json,
        api::reports::yard_run_csv,
        api::reports::yard_run_html,
        api::hour::hour,
        api::hour::hour_json,
        api::hour::hour_csv,
        api::hour::hour_html,
        api::week::week,
        api::week::week_json,
        api::week::week_csv,
        api::week::week_html,
        api::density::show,
        api::checks::list,
        api::checks::lay,
        api::checks::ask,
        api::checks::disturb,
        api::checks::was_check,
        health::alive,
        health::ready,
        health::metrics,
    )
)]
struct Document;

/// The document.
pub fn document() -> utoipa::openapi::OpenApi {
    Document::openapi()
}

pub async fn serve() -> Json<utoipa::openapi::OpenApi> {
    Json(document())
}
