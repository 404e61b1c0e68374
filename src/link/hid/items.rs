//! The items of a report descriptor, down to the input fields that it lays out.
//!
//! USB-IF, Device Class Definition for Human Interface Devices, version 1.11, section 6.2.2.

/// One field of an input report.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Input {
    /// 0 where the device numbers no reports.
    pub report: u8,
    /// Where the field begins, in bits from the start of the report behind its number.
    pub bit: usize,
    pub bits: usize,
    /// Smallest value: below zero the field is signed.
    pub lowest: i64,
    pub highest: i64,
    /// A variable field has one usage; an array names one of several by its value.
    pub variable: bool,
    /// Page in the high half.
    pub usages: Vec<u32>,
}

/// Descriptors of scales have about two hundred bytes; the kernel's limit.
const DESCRIPTOR_MAX: usize = 4096;
/// Fields of one item, and fields in all: a scale has a handful.
const COUNT_MAX: usize = 256;
const FIELDS_MAX: usize = 256;
const STACK_MAX: usize = 8;
const USAGES_MAX: usize = 256;

#[derive(Debug, Clone, Copy, Default)]
struct Global {
    page: u32,
    lowest: i64,
    highest: i64,
    size: usize,
    count: usize,
    report: u8,
}

/// Every input field that is no filler; `None` where the text is no descriptor.
pub fn inputs(mut rest: &[u8]) -> Option<Vec<Input>> {
    if rest.len() > DESCRIPTOR_MAX {
        return None;
    }
    let mut fields = Vec::new();
    let mut global = Global::default();
    let mut stack = Vec::new();
    let mut usages: Vec<u32> = Vec::new();
    let mut first = None;
    let mut ends: [usize; 256] = [0; 256];
    while let Some((&prefix, after)) = rest.split_first() {
        if prefix == 0xfe {
            // A long item: its length, its tag, its data. None is defined.
            let length = usize::from(*after.first()?);
            rest = after.get(2 + length..)?;
            continue;
        }
        let length = [0, 1, 2, 4][usize::from(prefix & 3)];
        let data = after.get(..length)?;
        rest = &after[length..];
        let value = data.iter().rev().fold(0_u32, |value, &byte| value << 8 | u32::from(byte));
        let usage = if length == 4 { value } else { global.page << 16 | value };
        match prefix & 0xfc {
            0x04 => global.page = value & 0xffff,
            0x14 => global.lowest = signed(value, length),
            // A highest value that looks negative beside a lowest one of zero or more was meant without a sign.
            0x24 => global.highest = if global.lowest < 0 { signed(value, length) } else { i64::from(value) },
            0x74 => global.size = value as usize,
            0x84 => global.report = u8::try_from(value).ok()?,
            0x94 => global.count = value as usize,
            0xa4 if stack.len() < STACK_MAX => stack.push(global),
            0xa4 => return None,
            0xb4 => global = stack.pop()?,
            0x08 if usages.len() < USAGES_MAX => usages.push(usage),
            0x18 => first = Some(usage),
            0x28 => {
                let range = first.take()?..=usage;
                usages.extend(range.take(USAGES_MAX.saturating_sub(usages.len())));
            }
            0x80 => {
                let end = &mut ends[usize::from(global.report)];
                input(&global, value, &usages, end, &mut fields)?;
                (usages, first) = (Vec::new(), None);
            }
            // Outputs, features and collections end the local items too.
            0x90 | 0xa0 | 0xb0 | 0xc0 => (usages, first) = (Vec::new(), None),
            _ => {}
        }
    }
    Some(fields)
}

fn input(global: &Global, value: u32, usages: &[u32], end: &mut usize, fields: &mut Vec<Input>) -> Option<()> {
    let (constant, variable) = (value & 1 != 0, value & 2 != 0);
    if global.size > 64 || global.count > COUNT_MAX || fields.len() + global.count > FIELDS_MAX {
        return None;
    }
    for index in 0..global.count {
        let bit = *end;
        *end += global.size;
        // With fewer usages than fields the last one holds for the rest.
        let own = usages.get(index).or(usages.last());
        let usages = if variable { own.map(|&usage| vec![usage]) } else { Some(usages.to_vec()) };
        if let (false, Some(usages)) = (constant || global.size == 0, usages) {
            let Global { report, lowest, highest, size: bits, .. } = *global;
            fields.push(Input { report, bit, bits, lowest, highest, variable, usages });
        }
    }
    Some(())
}

fn signed(value: u32, length: usize) -> i64 {
    match length {
        1 => i64::from(value as u8 as i8),
        2 => i64::from(value as u16 as i16),
        _ => i64::from(value as i32),
    }
}

impl Input {
    /// The field's value in `body`, a report behind its number; `None` where the report is too short.
    pub fn value(&self, body: &[u8]) -> Option<i64> {
        if self.bits > 32 {
            return None;
        }
        let mut value = 0_u64;
        for place in 0..self.bits {
            let at = self.bit + place;
            let byte = *body.get(at / 8)?;
            value |= u64::from(byte >> (at % 8) & 1) << place;
        }
        let value = value as i64;
        let sign = self.lowest < 0 && value >> (self.bits - 1) & 1 == 1;
        Some(if sign { value - (1 << self.bits) } else { value })
    }
}
