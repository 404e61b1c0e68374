//! A scenario file: a scale and what is done to it, in TOML.

use super::script::{Act, Deed, Script};
use super::setup::{BadSetup, Filter, Flag, Mode, Setup};
use crate::dialect::Dialect;
use crate::measure::{Displayed, Mass, Moment, Span, Unit};
use crate::settle::Manner;
use serde::Deserialize;

/// A scale and a script.
///
/// ```toml
/// manner = "heap"                # or tray, pan, sort
///
/// [scale]                        # every key has a default
/// dialect = "header-comma"
/// division = "1 g"               # its unit is the display's
/// capacity = "15 kg"
/// rate = 10                      # frames a second
/// mode = "stream"                # or polled, on-stable
/// stable = "honest"              # or early, late, lying, absent
/// filter = "average"             # or exponential, none
/// filter_samples = 16            # of 80 a second
/// noise = 0.3                    # divisions
/// swing_hz = 5.0
/// damping = 0.15                 # of critical
/// zero_tracking = 0.5            # divisions a second
/// creep = 0.0                    # share of the load that comes within minutes
/// drift = 0.0                    # divisions an hour, by temperature
/// shake = 0.0                    # divisions, by a machine on the bench
/// shake_hz = 12.0
/// underload = 20                 # divisions below zero
///
/// [[do]]                         # one thing an entry, in any order of time
/// at = 3.0
/// place = "850 g"                # or drop, take, knock; lean with seconds
///
/// [[do]]
/// at = 5.0
/// choose = 2                     # or say = "start"
///
/// [[do]]
/// at = 7.5
/// act = "lift"                   # or set-back, zero, tare, power-off, power-on, unplug, plug
///
/// [session]                      # a made-up session after the entries
/// pieces = 12
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Scenario {
    pub setup: Setup,
    pub script: Script,
}

/// Why a text is not a scenario.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadScenario {
    /// The message names line and key.
    #[error("{0}")]
    Toml(String),
    #[error("scale.{0}")]
    Scale(#[from] BadSetup),
    #[error("entry {number} of [[do]]: {what}")]
    Deed { number: usize, what: String },
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, default)]
struct File {
    name: Option<String>,
    manner: Manner,
    scale: ScaleFile,
    /// Makes up a session of so many pieces instead of, or after, the entries.
    session: Option<SessionFile>,
    #[serde(rename = "do")]
    deeds: Vec<DeedFile>,
}

impl Default for File {
    fn default() -> File {
        File { name: None, manner: Manner::Heap, scale: ScaleFile::default(), session: None, deeds: Vec::new() }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SessionFile {
    pieces: u32,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
struct ScaleFile {
    dialect: Option<Dialect>,
    division: Option<String>,
    capacity: Option<String>,
    rate: Option<u32>,
    mode: Option<Mode>,
    stable: Option<Flag>,
    filter: Option<FilterFile>,
    filter_samples: Option<u16>,
    noise: Option<f64>,
    swing_hz: Option<f64>,
    damping: Option<f64>,
    zero_tracking: Option<f64>,
    creep: Option<f64>,
    drift: Option<f64>,
    shake: Option<f64>,
    shake_hz: Option<f64>,
    underload: Option<u32>,
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
enum FilterFile {
    None,
    Average,
    Exponential,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DeedFile {
    at: f64,
    place: Option<String>,
    drop: Option<String>,
    take: Option<String>,
    lean: Option<String>,
    seconds: Option<f64>,
    knock: Option<String>,
    choose: Option<u32>,
    say: Option<String>,
    /// `lift`, `set-back`, `zero`, `tare`, `power-off`, `power-on`, `unplug` or `plug`.
    act: Option<String>,
}

impl Scenario {
    /// Reads a scenario. Where it asks for a made-up session, `seed` makes it.
    pub fn parse(text: &str, seed: u64) -> Result<Scenario, BadScenario> {
        let file: File = toml::from_str(text).map_err(|fault| BadScenario::Toml(fault.to_string().trim_end().to_owned()))?;
        let setup = file.scale.setup()?;
        setup.check()?;
        let mut deeds = Vec::new();
        for (index, deed) in file.deeds.iter().enumerate() {
            deeds.push(deed.deed().map_err(|what| BadScenario::Deed { number: index + 1, what })?);
        }
        let session = file.session.map(|session| Script::session(seed, session.pieces, file.manner));
        let name =
            file.name.or_else(|| session.as_ref().map(|session| session.name.clone())).unwrap_or_else(|| "scenario".into());
        if let Some(session) = session {
            let after = deeds.iter().map(|deed| deed.at).max().unwrap_or_default();
            deeds.extend(session.deeds().iter().map(|deed| Deed { at: deed.at.plus(Span(after.0)), act: deed.act.clone() }));
        }
        Ok(Scenario { setup, script: Script::new(name, file.manner, deeds) })
    }
}

impl ScaleFile {
    fn setup(self) -> Result<Setup, BadSetup> {
        let plain = Setup::default();
        let (division, unit) = match self.division {
            Some(text) => shown(&text).map_err(|what| BadSetup { key: "division", what })?,
            None => (plain.division, plain.unit),
        };
        let capacity = match self.capacity {
            Some(text) => mass(&text).map_err(|what| BadSetup { key: "capacity", what })?,
            None => plain.capacity,
        };
        let samples = self.filter_samples.unwrap_or(16);
        let filter = match self.filter.unwrap_or(FilterFile::Average) {
            FilterFile::None => Filter::None,
            FilterFile::Average => Filter::Average { samples: samples.into() },
            FilterFile::Exponential => Filter::Exponential { samples: samples.into() },
        };
        Ok(Setup {
            dialect: self.dialect.unwrap_or(plain.dialect),
            unit,
            division,
            capacity,
            rate: self.rate.unwrap_or(plain.rate),
            mode: self.mode.unwrap_or(plain.mode),
            flag: self.stable.unwrap_or(plain.flag),
            filter,
            noise: self.noise.unwrap_or(plain.noise),
            swing_hz: self.swing_hz.unwrap_or(plain.swing_hz),
            damping: self.damping.unwrap_or(plain.damping),
            zero_tracking: self.zero_tracking.unwrap_or(plain.zero_tracking),
            creep: self.creep.unwrap_or(plain.creep),
            drift: self.drift.unwrap_or(plain.drift),
            shake: self.shake.unwrap_or(plain.shake),
            shake_hz: self.shake_hz.unwrap_or(plain.shake_hz),
            underload: self.underload.unwrap_or(plain.underload),
        })
    }
}

impl DeedFile {
    fn deed(&self) -> Result<Deed, String> {
        let at = Moment::default().plus(span(self.at)?);
        let mut acts = Vec::new();
        let mut weighed = |text: &Option<String>, act: fn(Mass) -> Act| -> Result<(), String> {
            acts.extend(text.as_deref().map(mass).transpose()?.map(act));
            Ok(())
        };
        weighed(&self.place, Act::Place)?;
        weighed(&self.drop, Act::Drop)?;
        weighed(&self.take, Act::Take)?;
        weighed(&self.knock, Act::Knock)?;
        if let Some(text) = &self.lean {
            let lasting = span(self.seconds.ok_or("lean needs seconds")?)?;
            acts.push(Act::Lean { push: mass(text)?, lasting });
        } else if self.seconds.is_some() {
            return Err("seconds belongs to lean".into());
        }
        acts.extend(self.choose.map(Act::Choose));
        acts.extend(self.say.clone().map(Act::Say));
        if let Some(name) = &self.act {
            acts.push(named(name)?);
        }
        match <[Act; 1]>::try_from(acts) {
            Ok([act]) => Ok(Deed { at, act }),
            Err(acts) => Err(format!("an entry says one thing, this one says {}", acts.len())),
        }
    }
}

fn named(name: &str) -> Result<Act, String> {
    Ok(match name {
        "lift" => Act::Lift,
        "set-back" => Act::SetBack,
        "zero" => Act::ZeroKey,
        "tare" => Act::TareKey,
        "power-off" => Act::PowerOff,
        "power-on" => Act::PowerOn,
        "unplug" => Act::Unplug,
        "plug" => Act::Plug,
        _ => return Err(format!("{name:?} is no act: write lift, set-back, zero, tare, power-off, power-on, unplug or plug")),
    })
}

/// A day is longer than any script.
fn span(seconds: f64) -> Result<Span, String> {
    match (0.0..=86_400.0).contains(&seconds) {
        true => Ok(Span((seconds * 1e9).round() as u64)),
        false => Err(format!("{seconds} is not a number of seconds from 0 to 86400")),
    }
}

fn shown(text: &str) -> Result<(Displayed, Unit), String> {
    let what = || format!("{text:?} is not a weight: write a number and a unit, as in \"62.4 g\" or \"0.005 lb\"");
    let split = text.find(|character: char| !character.is_ascii_digit() && character != '.').ok_or_else(what)?;
    let (number, unit) = text.split_at(split);
    let unit = Unit::from_symbol(unit.trim()).ok_or_else(what)?;
    Ok((Displayed::from_digits(number.as_bytes()).map_err(|_| what())?, unit))
}

fn mass(text: &str) -> Result<Mass, String> {
    let (number, unit) = shown(text)?;
    Mass::of(number, unit).ok_or_else(|| format!("{text:?} is finer or larger than any scale shows"))
}
