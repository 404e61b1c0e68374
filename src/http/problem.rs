//! Errors as problem documents (RFC 9457), each with a stable type.

use crate::command::{FeedRefusal, PlaceRefusal, PriceRefusal, Refusal, TicketRefusal, TripRefusal};
use crate::render::json::FaultView;
use crate::render::{price_words, words};
use axum::http::{HeaderValue, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Boxed where it is never changed: it is the error of every handler, and a large error slows the good way too.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct Problem {
    /// `urn:bismar:problem:` and a stable code.
    #[serde(rename = "type")]
    pub kind: String,
    #[schema(value_type = String)]
    pub title: Box<str>,
    pub status: u16,
    /// What is wrong and what to do.
    pub detail: String,
    /// The field of the request that is wrong, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>)]
    pub field: Option<Box<str>>,
    /// Every fault of a table, where a table was sent.
    #[serde(skip_serializing_if = "<[FaultView]>::is_empty", default)]
    #[schema(value_type = Vec<FaultView>)]
    pub faults: Box<[FaultView]>,
    /// When it had ended already, for a session that is ended twice (UTC).
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>)]
    pub ended_at: Option<Box<str>>,
}

impl Problem {
    pub fn new(status: StatusCode, code: &str, detail: impl Into<String>) -> Problem {
        Problem {
            kind: format!("urn:bismar:problem:{code}"),
            title: status.canonical_reason().unwrap_or("problem").into(),
            status: status.as_u16(),
            detail: detail.into(),
            field: None,
            faults: Box::default(),
            ended_at: None,
        }
    }

    /// The same, about this field of the request.
    pub fn at(mut self, field: &str) -> Problem {
        self.field.get_or_insert_with(|| field.into());
        self
    }

    pub fn bad_body(detail: impl Into<String>) -> Problem {
        Problem::new(StatusCode::UNPROCESSABLE_ENTITY, "bad-body", detail)
    }

    pub fn bad_query(detail: impl Into<String>) -> Problem {
        Problem::new(StatusCode::BAD_REQUEST, "bad-query", detail)
    }
}

impl From<Refusal> for Problem {
    fn from(refusal: Refusal) -> Problem {
        // A fault in a field is judged by what is wrong there.
        let mut judged = &refusal;
        while let Refusal::Tickets(TicketRefusal::At { fault, .. }) = judged {
            judged = fault;
        }
        let status = match judged {
            Refusal::UnknownBench { .. }
            | Refusal::UnknownBin { .. }
            | Refusal::UnknownName { .. }
            | Refusal::UnknownSession { .. }
            | Refusal::UnknownDrop { .. }
            | Refusal::UnknownStillness { .. }
            | Refusal::UnknownLot { .. }
            | Refusal::NoDrop
            | Refusal::Feeds(
                FeedRefusal::UnknownArrival { .. } | FeedRefusal::UnknownRecord { .. } | FeedRefusal::UnknownTrial { .. },
            )
            | Refusal::Tickets(TicketRefusal::UnknownTicket { .. } | TicketRefusal::UnknownRun { .. })
            | Refusal::UnknownQuote { .. } => StatusCode::NOT_FOUND,
            Refusal::NumberTaken { .. }
            | Refusal::NameTaken { .. }
            | Refusal::NoBin
            | Refusal::NoSession
            | Refusal::SessionOpen { .. }
            | Refusal::SessionEnded { .. }
            | Refusal::SessionPaused { .. }
            | Refusal::SessionNotPaused { .. }
            | Refusal::DropGone { .. }
            | Refusal::DropProvisional { .. }
            | Refusal::PressUntried { .. }
            | Refusal::NotSetDown { .. }
            | Refusal::NothingMissing { .. }
            | Refusal::Feeds(FeedRefusal::RecordGone { .. } | FeedRefusal::OtherRecord { .. } | FeedRefusal::TrialRuns { .. })
            | Refusal::Places(
                PlaceRefusal::NothingToFollow { .. }
                | PlaceRefusal::NeverEmptied { .. }
                | PlaceRefusal::WentWithRun { .. }
                | PlaceRefusal::SoldOnTicket { .. }
                | PlaceRefusal::RegradedSince { .. }
                | PlaceRefusal::GoneOn { .. }
                | PlaceRefusal::TippedOver { .. },
            )
            | Refusal::Trips(TripRefusal::NothingTold)
            | Refusal::Tickets(
                TicketRefusal::SameTicket { .. }
                | TicketRefusal::TicketGone { .. }
                | TicketRefusal::LineTied { .. }
                | TicketRefusal::RunGone { .. }
                | TicketRefusal::RunTicketed { .. }
                | TicketRefusal::EmptiedSince { .. },
            )
            | Refusal::NotInHand { .. }
            | Refusal::LotWithoutFeed { .. }
            | Refusal::SameBin { .. }
            | Refusal::NothingInBin { .. } => StatusCode::CONFLICT,
            Refusal::Prices(PriceRefusal::At { refusal, .. }) if matches!(**refusal, Refusal::ChangedMeanwhile { .. }) => {
                StatusCode::PRECONDITION_FAILED
            }
            Refusal::Prices(PriceRefusal::At { refusal, .. }) if matches!(**refusal, Refusal::UnknownName { .. }) => {
                StatusCode::NOT_FOUND
            }
            Refusal::Prices(PriceRefusal::UnknownWord { .. }) => StatusCode::NOT_FOUND,
            Refusal::Prices(
                PriceRefusal::NothingQuoted { .. } | PriceRefusal::FallbackCircle { .. } | PriceRefusal::WordTaken { .. },
            ) => StatusCode::CONFLICT,
            Refusal::ChangedMeanwhile { .. } => StatusCode::PRECONDITION_FAILED,
            Refusal::StoreClosed | Refusal::Stopping => StatusCode::SERVICE_UNAVAILABLE,
            _ => StatusCode::UNPROCESSABLE_ENTITY,
        };
        let mut problem = Problem::new(status, words::code(&refusal), words::refusal(&refusal));
        problem.field = price_words::field(&refusal).map(Into::into);
        if let Refusal::SessionEnded { ended, .. } = refusal {
            problem.ended_at = Some(ended.to_string().into());
        }
        problem
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let body = serde_json::to_string(&self).unwrap_or_default();
        let kind = HeaderValue::from_static("application/problem+json");
        (status, [(header::CONTENT_TYPE, kind)], body).into_response()
    }
}

pub async fn no_such_page(uri: Uri) -> Problem {
    Problem::new(
        StatusCode::NOT_FOUND,
        "no-such-page",
        format!("there is nothing at {}; /openapi.json lists what there is", uri.path()),
    )
}

pub async fn no_such_method(uri: Uri) -> Problem {
    let detail = format!("{} does not take this method; /openapi.json lists what it takes", uri.path());
    Problem::new(StatusCode::METHOD_NOT_ALLOWED, "no-such-method", detail)
}
