//! What an hour is worth: prices, yields and pay; does a grade earn its place; how well the scale knows.
//!
//! Plain functions over plain values. What is uncertain carries its uncertainty, too little data is an answer of its own,
//! and no price is invented: without a quote there is no value.

pub mod basis;
pub mod break_even;
pub mod cash;
pub mod check_weight;
pub mod coins;
pub mod density;
pub mod interval;
pub mod job;
pub mod marks;
pub mod metals;
pub mod number;
pub mod pay;
pub mod place;
pub mod quotes;
pub mod ratio;
pub mod student;
pub mod tolerance;
pub mod trial;
pub mod uncertainty;
pub mod water;
pub mod weighed;
pub mod wire;
pub mod yields;
