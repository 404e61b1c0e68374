//! Where a scale's descriptor puts weight, scaling, unit and status, and a report in one fixed order.
//!
//! USB-IF, HID Usage Tables, Scales page (0x8D); first published as HID Point of Sale Usage Tables, version 1.02 (2001).

use super::items::{Input, inputs};

/// The data report in the order that most scales send anyway: number 3, status, unit, scaling, weight low, weight high.
pub const REPORT: usize = 6;

const PAGE: u32 = 0x8d << 16;
const WEIGHT: u32 = PAGE | 0x40;
const SCALING: u32 = PAGE | 0x41;
/// Twelve units and eight states, as selectors; the codes that are sent count from 1.
const UNITS: std::ops::RangeInclusive<u32> = PAGE | 0x51..=PAGE | 0x5c;
const STATES: std::ops::RangeInclusive<u32> = PAGE | 0x71..=PAGE | 0x78;
const NUMBER: u8 = 3;

/// Where the four parts stand in one report of a scale.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    report: u8,
    weight: Input,
    scaling: Input,
    unit: Choice,
    status: Choice,
}

/// One of several usages: by an array's value, or by the one bit that is set.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Choice {
    Array(Input),
    Bits(Vec<Input>),
}

/// Why a descriptor is not that of a scale that can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoScale {
    #[error("its report descriptor cannot be understood")]
    Garbled,
    #[error("it does not call itself a scale")]
    NotAScale,
    #[error("its descriptor tells of no {0}")]
    Without(&'static str),
    #[error("its weight has {0} bits, and only up to 16 are read")]
    Wide(usize),
}

impl Layout {
    pub fn of(descriptor: &[u8]) -> Result<Layout, NoScale> {
        let inputs = inputs(descriptor).ok_or(NoScale::Garbled)?;
        let weight = inputs.iter().find(|input| input.variable && input.usages == [WEIGHT]).ok_or(NoScale::NotAScale)?;
        if weight.bits > 16 {
            return Err(NoScale::Wide(weight.bits));
        }
        let report = weight.report;
        let beside: Vec<&Input> = inputs.iter().filter(|input| input.report == report).collect();
        let scaling = beside.iter().find(|input| input.variable && input.usages == [SCALING]);
        let choice = |range, what| Choice::among(&beside, range).ok_or(NoScale::Without(what));
        Ok(Layout {
            report,
            weight: weight.clone(),
            scaling: scaling.copied().cloned().ok_or(NoScale::Without("scaling"))?,
            unit: choice(UNITS, "unit")?,
            status: choice(STATES, "status")?,
        })
    }

    /// The data report in its fixed order. `None` for other reports, and for one that is cut, empty or impossible:
    /// those carry no data, which is not a weight of nothing.
    pub fn report(&self, received: &[u8]) -> Option<[u8; REPORT]> {
        let body = match self.report {
            0 => received,
            number => received.strip_prefix(&[number])?,
        };
        let status = self.status.code(body, STATES)?;
        let unit = self.unit.code(body, UNITS).unwrap_or(0);
        let scaling = i8::try_from(self.scaling.value(body)?).ok()?;
        let [low, high] = u16::try_from(self.weight.value(body)?).ok()?.to_le_bytes();
        Some([NUMBER, status, unit, scaling.to_le_bytes()[0], low, high])
    }
}

impl Choice {
    fn among(inputs: &[&Input], range: std::ops::RangeInclusive<u32>) -> Option<Choice> {
        let fits = |input: &&&Input| input.usages.iter().any(|usage| range.contains(usage));
        let found: Vec<Input> = inputs.iter().filter(fits).map(|&input| input.clone()).collect();
        match found.iter().find(|input| !input.variable) {
            Some(array) => Some(Choice::Array(array.clone())),
            None => (!found.is_empty()).then_some(Choice::Bits(found)),
        }
    }

    /// The selector's place within `range`, counted from 1.
    fn code(&self, body: &[u8], range: std::ops::RangeInclusive<u32>) -> Option<u8> {
        let usage = match self {
            Choice::Array(array) => {
                let value = array.value(body).filter(|value| (array.lowest..=array.highest).contains(value))?;
                *array.usages.get(usize::try_from(value - array.lowest).ok()?)?
            }
            Choice::Bits(bits) => {
                let mut set = bits.iter().filter(|bit| bit.value(body).is_some_and(|value| value != 0));
                let one = set.next()?;
                set.next().is_none().then(|| one.usages[0])?
            }
        };
        range.contains(&usage).then(|| (usage - range.start() + 1) as u8)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A data report as the usage tables lay it out, number 3, behind a feature report with number 1.
    pub const SCALE: &[u8] = &[
        0x05, 0x8d, 0x09, 0x20, 0xa1, 0x01, // scale device
        0x85, 0x01, 0x09, 0x22, 0x15, 0x00, 0x25, 0x01, 0x75, 0x08, 0x95, 0x01, 0xb1, 0x02, // a feature
        0x85, 0x03, 0x09, 0x32, 0xa1, 0x02, // data report
        0x09, 0x70, 0xa1, 0x02, 0x15, 0x01, 0x25, 0x08, 0x75, 0x08, 0x95, 0x01, // status
        0x19, 0x71, 0x29, 0x78, 0x81, 0x00, 0xc0, //
        0x09, 0x50, 0xa1, 0x02, 0x15, 0x01, 0x25, 0x0c, 0x19, 0x51, 0x29, 0x5c, 0x81, 0x00, 0xc0, // unit
        0x09, 0x41, 0x15, 0x81, 0x25, 0x7f, 0x81, 0x02, // scaling
        0x09, 0x40, 0x15, 0x00, 0x27, 0xff, 0xff, 0x00, 0x00, 0x75, 0x10, 0x81, 0x02, // weight
        0xc0, 0xc0,
    ];

    /// The same parts in another order, without a number, the status as bits, with padding and usages one by one.
    const ODD: &[u8] = &[
        0x05, 0x8d, 0x09, 0x20, 0xa1, 0x01, //
        0x09, 0x40, 0x15, 0x00, 0x26, 0xff, 0x0f, 0x75, 0x0c, 0x95, 0x01, 0x81, 0x02, // 12 bits of weight
        0x75, 0x04, 0x81, 0x03, // four of nothing
        0x15, 0x00, 0x25, 0x01, 0x75, 0x01, 0x95, 0x08, 0x19, 0x71, 0x29, 0x78, 0x81, 0x02, // status bits
        0xa4, 0x15, 0x00, 0x25, 0x02, 0x75, 0x08, 0x95, 0x01, 0x09, 0x5b, 0x09, 0x5c, 0x09, 0x52, 0x81, 0x00,
        0xb4, // oz, lb, g
        0x15, 0x81, 0x25, 0x7f, 0x75, 0x08, 0x95, 0x01, 0x0b, 0x41, 0x00, 0x8d, 0x00, 0x81, 0x02, // scaling, long usage
        0xc0,
    ];

    #[test]
    fn a_usual_report_passes_as_it_is() {
        let layout = Layout::of(SCALE).unwrap();
        for report in [[3, 4, 0x0b, 0xff, 0x6f, 4], [3, 4, 2, 0, 0x90, 0], [3, 5, 2, 0, 10, 0], [3, 4, 3, 0xfd, 0xff, 0xff]] {
            assert_eq!(layout.report(&report), Some(report));
        }
    }

    #[test]
    fn no_data_is_not_a_weight_of_nothing() {
        let layout = Layout::of(SCALE).unwrap();
        for none in [&[][..], &[0; 6], &[3, 0, 0, 0, 0, 0], &[3, 4, 2, 0, 10], &[3, 9, 2, 0, 10, 0], &[4, 4, 2, 0, 10, 0]] {
            assert_eq!(layout.report(none), None, "{none:?}");
        }
        assert_eq!(layout.report(&[3, 6, 0, 0, 0, 0]), Some([3, 6, 0, 0, 0, 0]), "over the limit needs no unit");
        assert_eq!(Layout::of(ODD).unwrap().report(&[0; 5]), None);
    }

    #[test]
    fn the_descriptor_tells_where_things_are() {
        let layout = Layout::of(ODD).unwrap();
        // 0xABC, status bit 3 (stable), second unit of the list, scaling -2.
        assert_eq!(layout.report(&[0xbc, 0xfa, 0b1000, 1, 0xfe]), Some([3, 4, 12, 0xfe, 0xbc, 0x0a]));
        assert_eq!(layout.report(&[0xbc, 0xfa, 0b1100, 1, 0xfe]), None, "two states at once");
        assert_eq!(layout.report(&[0xbc, 0xfa, 0b1000, 3, 0xfe]).unwrap()[2], 0, "a unit that is not listed");
    }

    #[test]
    fn what_is_no_scale_is_told() {
        let keyboard = [0x05, 0x01, 0x09, 0x06, 0xa1, 0x01, 0x05, 0x07, 0x19, 0xe0, 0x29, 0xe7, 0x75, 1, 0x95, 8, 0x81, 2, 0xc0];
        assert_eq!(Layout::of(&keyboard), Err(NoScale::NotAScale));
        assert_eq!(Layout::of(&SCALE[..SCALE.len() - 8]), Err(NoScale::Garbled));
        let wide: Vec<u8> = SCALE.iter().map(|&byte| if byte == 0x10 { 0x20 } else { byte }).collect();
        assert_eq!(Layout::of(&wide), Err(NoScale::Wide(32)));
        let mut blind = SCALE.to_vec();
        let at = blind.windows(4).position(|part| part == [0x19, 0x51, 0x29, 0x5c]).unwrap();
        blind[at + 1] = 0x61;
        blind[at + 3] = 0x62;
        assert_eq!(Layout::of(&blind), Err(NoScale::Without("unit")));
    }

    proptest! {
        #[test]
        fn no_descriptor_and_no_report_does_harm(descriptor in proptest::collection::vec(any::<u8>(), 0..300), report in proptest::collection::vec(any::<u8>(), 0..70), flip in 0_usize..SCALE.len(), to in any::<u8>()) {
            _ = Layout::of(&descriptor).map(|layout| layout.report(&report));
            let mut bent = SCALE.to_vec();
            bent[flip] = to;
            _ = Layout::of(&bent).map(|layout| layout.report(&report));
        }

        #[test]
        fn every_whole_report_of_the_usual_kind_passes(status in 1_u8..=8, unit in 1_u8..=12, scaling in -127_i8..=127, weight in any::<u16>()) {
            let [low, high] = weight.to_le_bytes();
            let report = [3, status, unit, scaling as u8, low, high];
            prop_assert_eq!(Layout::of(SCALE).unwrap().report(&report), Some(report));
        }
    }
}
