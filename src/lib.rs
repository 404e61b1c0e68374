pub mod cli;
pub mod dialect;
pub mod facts;
pub mod link;
pub mod measure;
pub mod settle;
pub mod store;
