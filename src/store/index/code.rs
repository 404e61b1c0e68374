//! Keys and values of the index's trees, as bytes. Numbers are big-endian, so that keys sort as they count.

use super::derive::{Row, Total, TotalKey};
use crate::facts::books::EntryState;
use crate::facts::{BinId, EntryId};
use crate::measure::Mass;
use jiff::civil::Date;

pub fn seq(seq: u64) -> [u8; 8] {
    seq.to_be_bytes()
}

pub fn read_seq(bytes: &[u8]) -> Option<u64> {
    Some(u64::from_be_bytes(bytes.try_into().ok()?))
}

/// No bin has the number 0: it stands for drops without one.
fn bin(bin: Option<BinId>) -> [u8; 8] {
    bin.map_or(0, |bin| bin.0).to_be_bytes()
}

fn read_bin(bytes: &[u8]) -> Option<Option<BinId>> {
    let number = read_seq(bytes)?;
    Some((number != 0).then_some(BinId(number)))
}

/// A day as the number YYYYMMDD, with room for years before the common era.
pub fn day(day: Date) -> [u8; 4] {
    let number = (i32::from(day.year()) + 10_000) * 10_000 + i32::from(day.month()) * 100 + i32::from(day.day());
    number.to_be_bytes()
}

fn read_day(bytes: &[u8]) -> Option<Date> {
    let number = i32::from_be_bytes(bytes.try_into().ok()?);
    let year = i16::try_from(number / 10_000 - 10_000).ok()?;
    Date::new(year, i8::try_from(number / 100 % 100).ok()?, i8::try_from(number % 100).ok()?).ok()
}

pub fn bin_key(of: Option<BinId>, entry: EntryId) -> [u8; 16] {
    let mut key = [0; 16];
    key[..8].copy_from_slice(&bin(of));
    key[8..].copy_from_slice(&seq(entry.0));
    key
}

pub fn day_key(of: Date, entry: EntryId) -> [u8; 12] {
    let mut key = [0; 12];
    key[..4].copy_from_slice(&day(of));
    key[4..].copy_from_slice(&seq(entry.0));
    key
}

pub fn row(row: &Row) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(37);
    bytes.extend(seq(row.entry.0));
    bytes.extend(bin(row.bin));
    bytes.extend(day(row.day));
    bytes.extend(row.mass.femtograms().to_be_bytes());
    bytes.push(match row.state {
        EntryState::Provisional => b'p',
        EntryState::Confirmed => b'c',
        EntryState::Cancelled => b'x',
        EntryState::Voided => b'v',
    });
    bytes
}

pub fn read_row(bytes: &[u8]) -> Option<Row> {
    let bytes: &[u8; 37] = bytes.try_into().ok()?;
    Some(Row {
        entry: EntryId(read_seq(&bytes[..8])?),
        bin: read_bin(&bytes[8..16])?,
        day: read_day(&bytes[16..20])?,
        mass: Mass::from_femtograms(i128::from_be_bytes(bytes[20..36].try_into().ok()?)),
        state: match bytes[36] {
            b'p' => EntryState::Provisional,
            b'c' => EntryState::Confirmed,
            b'x' => EntryState::Cancelled,
            b'v' => EntryState::Voided,
            _ => return None,
        },
    })
}

pub fn total_key((on, of): TotalKey) -> [u8; 12] {
    let mut key = [0; 12];
    key[..4].copy_from_slice(&day(on));
    key[4..].copy_from_slice(&bin(of));
    key
}

pub fn read_total_key(bytes: &[u8]) -> Option<TotalKey> {
    let bytes: &[u8; 12] = bytes.try_into().ok()?;
    Some((read_day(&bytes[..4])?, read_bin(&bytes[4..])?))
}

pub fn total(total: Total) -> [u8; 24] {
    let mut bytes = [0; 24];
    bytes[..16].copy_from_slice(&total.mass.femtograms().to_be_bytes());
    bytes[16..].copy_from_slice(&total.drops.to_be_bytes());
    bytes
}

pub fn read_total(bytes: &[u8]) -> Option<Total> {
    let bytes: &[u8; 24] = bytes.try_into().ok()?;
    Some(Total {
        mass: Mass::from_femtograms(i128::from_be_bytes(bytes[..16].try_into().ok()?)),
        drops: i64::from_be_bytes(bytes[16..].try_into().ok()?),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn dates() -> impl Strategy<Value = Date> {
        (-9999_i16..=9999, 1_i8..=12, 1_i8..=28).prop_map(|(year, month, day)| Date::constant(year, month, day))
    }

    proptest! {
        #[test]
        fn rows_and_totals_are_read_back(day in dates(), bin in proptest::option::of(1_u64..), mass: i128, entry: u64, drops: i64) {
            let bin = bin.map(BinId);
            for state in [EntryState::Provisional, EntryState::Confirmed, EntryState::Cancelled, EntryState::Voided] {
                let row = Row { entry: EntryId(entry), bin, day, mass: Mass::from_femtograms(mass), state };
                prop_assert_eq!(read_row(&super::row(&row)), Some(row));
            }
            let total = Total { mass: Mass::from_femtograms(mass), drops };
            prop_assert_eq!(read_total(&super::total(total)), Some(total));
            prop_assert_eq!(read_total_key(&total_key((day, bin))), Some((day, bin)));
        }

        #[test]
        fn days_sort_as_they_follow(a in dates(), b in dates()) {
            prop_assert_eq!(day(a).cmp(&day(b)), a.cmp(&b));
        }
    }
}
