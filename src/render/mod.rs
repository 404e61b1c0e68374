//! Answers to JSON, CSV, HTML and plain text, from one answer each; and the words of every language.

pub mod check_words;
pub mod csv;
pub mod csv_outlays;
pub mod csv_tickets;
pub mod feed_words;
pub mod figures;
pub mod hour_words;
pub mod job_words;
pub mod json;
pub mod metal_words;
pub mod page;
pub mod plot;
pub mod text;
pub mod text_hour;
pub mod text_week;
pub mod ticket_words;
pub mod words;
