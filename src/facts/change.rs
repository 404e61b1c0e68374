//! What a change of a name or a set-up carries, and the lines of quotes and tickets.

use super::{FillId, GradeId};
use crate::measure::{Mass, Price};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A field that a change leaves alone, sets, or clears.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Set<T> {
    #[default]
    Keep,
    To(Option<T>),
}

#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct BinChange {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub number: Option<u32>,
    #[serde(skip_serializing_if = "Set::is_keep")]
    pub name: Set<String>,
    #[serde(skip_serializing_if = "Set::is_keep")]
    pub grade: Set<GradeId>,
    #[serde(skip_serializing_if = "Set::is_keep")]
    pub tare: Set<Mass>,
    #[serde(skip_serializing_if = "Set::is_keep")]
    pub capacity: Set<Mass>,
    /// Room that it takes in the vehicle.
    #[serde(skip_serializing_if = "Set::is_keep")]
    pub litres: Set<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub retired: Option<bool>,
}

#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct NameChange {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub retired: Option<bool>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Break {
    pub from: Mass,
    pub amount: Decimal,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TicketLine {
    /// As the buyer wrote it.
    pub text: String,
    pub grade: Option<GradeId>,
    pub fill: Option<FillId>,
    pub gross: Option<Mass>,
    pub tare: Option<Mass>,
    pub net: Mass,
    pub price: Option<Price>,
    pub amount: crate::measure::Money,
}

impl<T> Set<T> {
    pub fn is_keep(&self) -> bool {
        matches!(self, Set::Keep)
    }

    /// Applies itself to a field.
    pub fn put(&self, field: &mut Option<T>)
    where
        T: Clone,
    {
        if let Set::To(value) = self {
            field.clone_from(value);
        }
    }
}

impl<T: Serialize> Serialize for Set<T> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Set::Keep => serializer.serialize_none(),
            Set::To(value) => value.serialize(serializer),
        }
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Set<T> {
    /// A field that is present sets or, as null, clears; an absent one is left to its default.
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Set<T>, D::Error> {
        Option::deserialize(deserializer).map(Set::To)
    }
}
