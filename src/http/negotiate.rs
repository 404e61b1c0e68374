//! Which form of a report is wanted.

use axum::http::{HeaderMap, header};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    Json,
    Csv,
    Html,
}

impl Form {
    /// The form that `Accept` rates highest; of equals the first named; JSON when nothing is said.
    pub fn wanted(headers: &HeaderMap) -> Form {
        let accept = headers.get(header::ACCEPT).and_then(|accept| accept.to_str().ok()).unwrap_or("*/*");
        let mut best = (0_u32, Form::Json);
        for part in accept.split(',') {
            let mut pieces = part.split(';').map(str::trim);
            let form = match pieces.next() {
                Some("text/html" | "application/xhtml+xml" | "text/*") => Form::Html,
                Some("text/csv") => Form::Csv,
                Some("application/json" | "application/*" | "*/*") => Form::Json,
                _ => continue,
            };
            let weight = pieces.find_map(|piece| piece.strip_prefix("q=")).map_or(Some(1000), thousandths).unwrap_or(0);
            if weight > best.0 {
                best = (weight, form);
            }
        }
        best.1
    }
}

/// A quality value of RFC 9110, 12.4.2: up to three decimals.
fn thousandths(text: &str) -> Option<u32> {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let fraction = format!("{fraction:0<3}");
    let value = whole.parse::<u32>().ok()? * 1000 + fraction.get(..3)?.parse::<u32>().ok()?;
    Some(value.min(1000))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_highest_rated_form_wins() {
        let wanted = |accept: &str| {
            let mut headers = HeaderMap::new();
            headers.insert(header::ACCEPT, accept.parse().unwrap());
            Form::wanted(&headers)
        };
        assert_eq!(wanted("text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"), Form::Html);
        assert_eq!(wanted("text/csv"), Form::Csv);
        assert_eq!(wanted("text/csv;q=0.2, application/json;q=0.25"), Form::Json);
        assert_eq!(wanted("image/png"), Form::Json);
        assert_eq!(Form::wanted(&HeaderMap::new()), Form::Json);
    }
}
