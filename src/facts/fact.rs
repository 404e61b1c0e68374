//! Everything that can be recorded. Plain data: what follows from it is reckoned elsewhere.

use super::{
    ArrivalCame, BinChange, BinId, Break, BuyerId, CheckLaid, CheckTakenOff, EntryId, FeedId, FillId, GradeId, JobPart,
    KnownWeight, LotBegun, LotDescribed, LotDrawn, LotId, LotWaited, MoneySpent, NameChange, QuoteId, RecordVoided,
    ScaleDisturbed, SessionId, StepId, TicketLine, TrialBegan, TrialEnded,
};
use super::{
    BinFull, BuyerTold, FeedMarked, GradeTold, LimitsTold, PiecesCounted, RateQuoted, SortingTold, StockFollowed, StockSeen,
    WireSampled, WordTold,
};
use super::{Bridge, Cancellation, Confirmation, KnownBy, Void};
use crate::dialect::Kind;
use crate::measure::{Mass, Moment, Price, Span, Unit};
use crate::settle::{Act, EpochCause, Manner, Rest};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A fact, first what was seen, then what was made of it; a correction is a fact of its own with a reason.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "body", rename_all = "kebab-case")]
pub enum Fact {
    /// The first event of every store.
    StoreFounded {
        program: String,
    },

    // What the scale showed.
    EpochOpened {
        cause: EpochCause,
        unit: Unit,
        display: Kind,
        division: Mass,
        /// The device, as far as it tells its name: calibration is common to one scale.
        scale: Option<String>,
    },
    EpochClosed {
        /// What lay under one division and went to no step.
        pending: Mass,
        /// Drift that was taken for creep.
        forgiven: Mass,
    },
    Stepped {
        act: Act,
        delta: Mass,
        landed: Moment,
        from: Rest,
        to: Rest,
    },
    /// A scale that prints one line a load sent an equal line again: perhaps another load of the same weight.
    SentAgain {
        rest: Rest,
    },
    /// Readings were lost because the daemon could not keep up.
    GapMarked {
        lost: u64,
    },

    // What was made of it.
    DropLanded {
        /// The steps that it rests on: one, or in the manner pan the first of its load.
        step: StepId,
        /// None where no bin was chosen, or where choice and weight disagree.
        bin: Option<BinId>,
        fill: Option<FillId>,
        session: Option<SessionId>,
        leg: Option<u64>,
        mass: Mass,
        doubt: Option<Doubt>,
        /// The removal that it was taken from: it was weighed before, and earns nothing a second time.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        transfer: Option<EntryId>,
    },
    /// A load was put on that is to be taken apart: an intake, which opens a lot. It is in no bin and is no drop; it is
    /// weighed when it is taken off again.
    IntakeLanded {
        step: StepId,
        /// None where none was said and none was at hand: it is asked.
        feed: Option<FeedId>,
        session: Option<SessionId>,
        leg: Option<u64>,
        mass: Mass,
    },
    /// The load of a drop or of an intake that is still on the pan changed.
    DropRevised {
        entry: EntryId,
        mass: Mass,
    },
    /// Material was taken out of the bin that stands on the scale. It is in hand until it is put somewhere.
    TakenOut {
        step: StepId,
        bin: Option<BinId>,
        fill: Option<FillId>,
        session: Option<SessionId>,
        mass: Mass,
    },
    Confirmed {
        entry: EntryId,
        why: Confirmation,
    },
    Cancelled {
        entry: EntryId,
        why: Cancellation,
    },
    /// A bin was set down on the platform: its gross weight is no drop.
    SetDown {
        /// None where it was found standing at the beginning of an epoch.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        step: Option<StepId>,
        bin: BinId,
        gross: Mass,
        known_by: KnownBy,
        /// What it should have weighed; the difference is the scatter of set-backs, or a catch-up.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        expected: Option<Mass>,
        /// It came back lighter than it was last seen by so much; the books are left as they are, and it is asked.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        lighter_by: Option<Mass>,
    },
    /// A bin came back heavier than it was last seen: somebody filled it away from the scale. Negative where it came back
    /// lighter and somebody has said that this is so. Outside yields and pay.
    CaughtUp {
        bin: BinId,
        fill: FillId,
        mass: Mass,
    },
    /// What was taken out weighs what one drop of this visit weighed: a mug, a tool, or a piece thought better of.
    /// Both stay in the sum of the bin, and neither is a drop.
    TakenBack {
        drop: EntryId,
        removal: EntryId,
    },
    Lifted {
        step: StepId,
        bin: Option<BinId>,
        gross: Mass,
    },
    /// The first rest of an epoch, compared with what stood there before it.
    Bridged {
        verdict: Bridge,
        found: Mass,
        expected: Option<Mass>,
    },
    /// Crumbs under one division that went to the bin in force when they were settled.
    CrumbsSettled {
        bin: Option<BinId>,
        fill: Option<FillId>,
        mass: Mass,
    },

    // The bench.
    BinChosen {
        bin: Option<BinId>,
    },
    /// A trial of long presses on the pan begins.
    PressTrialBegan {},
    PressFelt {},
    PressSwitched {
        on: bool,
    },
    /// The next load is an intake, of this feed or else of the one at hand when it lands.
    IntakeAsked {
        feed: Option<FeedId>,
    },
    /// It is none after all.
    IntakeWithdrawn {},
    /// Which feed a lot is of.
    LotTold {
        lot: LotId,
        feed: FeedId,
    },
    /// An intake that was weighed elsewhere: it opens a lot as one on the scale does.
    LotEntered {
        feed: FeedId,
        session: Option<SessionId>,
        mass: Mass,
        source: Source,
        reason: String,
    },
    /// A lot is worked off: from here on it counts in yields and pay.
    LotClosed {
        lot: LotId,
    },
    /// It is not, after all.
    LotReopened {
        lot: LotId,
    },
    MannerChosen {
        manner: Manner,
    },
    SessionStarted {
        feed: Option<FeedId>,
    },
    SessionPaused {
        session: SessionId,
    },
    SessionResumed {
        session: SessionId,
    },
    SessionEnded {
        session: SessionId,
    },
    /// Nothing moved at the bench for so long while the session's clock ran.
    StillnessSeen {
        session: SessionId,
        span: Span,
    },
    /// What the person said of a stillness: away, or working all the same.
    StillnessTold {
        stillness: u64,
        session: SessionId,
        away: bool,
    },
    LegBegan {
        session: SessionId,
        feed: Option<FeedId>,
    },

    // Names and set-up, at any time and in any order.
    BinMade {
        number: u32,
        name: Option<String>,
        grade: Option<GradeId>,
        tare: Option<Mass>,
        capacity: Option<Mass>,
    },
    BinChanged {
        bin: BinId,
        change: BinChange,
    },
    GradeMade {
        name: String,
    },
    GradeChanged {
        grade: GradeId,
        change: NameChange,
    },
    FeedMade {
        name: String,
    },
    FeedChanged {
        feed: FeedId,
        change: NameChange,
    },
    BuyerMade {
        name: String,
    },
    BuyerChanged {
        buyer: BuyerId,
        change: NameChange,
    },
    QuoteGiven {
        buyer: BuyerId,
        grade: GradeId,
        price: Price,
        /// The first day on which it holds.
        day: Date,
        /// Days after which it is called stale; none means the configured number.
        stale_after: Option<u16>,
        /// A better price from a quantity on, in rising order of quantity.
        breaks: Vec<Break>,
        /// The buyer takes no less than this.
        minimum: Option<Mass>,
        /// Per cent that the buyer takes off the weight.
        deduction: Option<Decimal>,
    },
    RateQuoted(Box<RateQuoted>),
    PiecesCounted(PiecesCounted),
    GradeTold(GradeTold),
    BuyerTold(BuyerTold),
    WordTold(WordTold),
    QuoteWithdrawn {
        quote: QuoteId,
        reason: String,
    },

    // Corrections and the life of a bin.
    DropVoided {
        entry: EntryId,
        which: Void,
        reason: String,
    },
    DropsMoved {
        entries: Vec<EntryId>,
        bin: BinId,
        fill: FillId,
        reason: String,
    },
    /// The person marked a drop to be looked at later.
    DropDoubted {
        entry: EntryId,
    },
    /// What was in hand was put where the scale does not see it.
    HandSettled {
        removal: EntryId,
        reason: String,
    },
    DropAdjusted {
        entry: EntryId,
        mass: Mass,
        source: Source,
        reason: String,
    },
    BinTipped {
        from: BinId,
        from_fill: FillId,
        to: BinId,
        to_fill: FillId,
        /// What the books held in the first bin, all of which goes over.
        mass: Mass,
        reason: String,
    },
    BinEmptied {
        bin: BinId,
        fill: FillId,
        reason: String,
    },
    OpeningStock {
        bin: BinId,
        fill: FillId,
        mass: Mass,
        source: Source,
        reason: String,
    },
    /// A weight from elsewhere, entered by hand. It counts like a drop.
    WeightEntered {
        bin: Option<BinId>,
        fill: Option<FillId>,
        session: Option<SessionId>,
        mass: Mass,
        source: Source,
        reason: String,
    },

    // Plain records over which the reckoning of runs, tickets and pay goes.
    CheckWeighed {
        nominal: Mass,
        shown: Mass,
        /// Half the width in which the weight itself lies; none where nobody knows.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        within: Option<Mass>,
        /// What was laid on, and who says what it weighs.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        source: Option<String>,
        /// Of the display then.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        division: Option<Mass>,
        /// The device, as far as it tells its name.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        scale: Option<String>,
        /// The drop that it was first taken for.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        drop: Option<EntryId>,
    },
    /// The next load of about this weight is a check weight, and no drop.
    CheckAsked(KnownWeight),
    CheckWithdrawn {},
    CheckLaid(Box<CheckLaid>),
    CheckTakenOff(CheckTakenOff),
    ScaleDisturbed(ScaleDisturbed),
    MinutesSpent {
        /// What for: fetching, driving, at the yard, sorting.
        what: String,
        span: Span,
        day: Date,
        session: Option<SessionId>,
        /// The lot on which they were spent, away from the bench.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        lot: Option<LotId>,
        /// Of the whole job; without a lot and without this they count as minutes at the bench.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        part: Option<JobPart>,
    },
    RunMade {
        buyer: BuyerId,
        day: Date,
        fills: Vec<FillId>,
        distance_km: Option<Decimal>,
        span: Option<Span>,
        cost: Option<crate::measure::Money>,
    },
    TicketEntered {
        buyer: BuyerId,
        day: Date,
        run: Option<u64>,
        number: Option<String>,
        lines: Vec<TicketLine>,
        deductions: Vec<crate::measure::Money>,
        total: crate::measure::Money,
    },

    // Places, wire and the round through the stock.
    FeedMarked(Box<FeedMarked>),
    BinFull(BinFull),
    SortingTold(SortingTold),
    LimitsTold(LimitsTold),
    WireSampled(Box<WireSampled>),
    StockSeen(StockSeen),
    StockFollowed(StockFollowed),
    EmptyingTakenBack(super::EmptyingTakenBack),
    // The drive, the buyer's slip, what it moved, the money.
    RunSetOut(Box<super::RunSetOut>),
    RunTakenBack(super::RunTakenBack),
    TicketTaken(Box<super::TicketTaken>),
    LoadMoved(Box<super::LoadMoved>),
    TicketVoided(super::TicketVoided),
    TicketSettled(super::TicketSettled),
    PaymentCame(super::PaymentCame),

    // What a drive is planned from.
    YardTold(Box<super::YardTold>),
    RoadTold(super::RoadTold),
    VehicleTold(super::VehicleTold),
    HoldTold(super::HoldTold),
    BinPinned(super::BinPinned),

    // Feeds and their lots.
    LotBegun(Box<LotBegun>),
    LotDrawn(Box<LotDrawn>),
    LotDescribed(LotDescribed),
    LotWaited(LotWaited),
    ArrivalCame(Box<ArrivalCame>),
    MoneySpent(MoneySpent),
    TrialBegan(TrialBegan),
    TrialEnded(TrialEnded),
    RecordVoided(RecordVoided),
}

/// Why a drop is kept without a bin although it may belong to one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "code")]
pub enum Doubt {
    /// The chosen bin should weigh `expected`, and something else was set down, perhaps another bin.
    NotTheBin { expected: Mass, perhaps: Option<BinId> },
    /// The chosen bin was never weighed, and what was set down weighs what another one does.
    PerhapsAnother { perhaps: BinId },
    /// Far above what this bin usually gets.
    FarAbove { bin: BinId, usual: Mass },
    /// More than the bin has room for.
    OverRoom { bin: BinId, room: Mass },
    /// The rest of the pile went off the pan at once.
    PerhapsThePile,
    /// Somebody said so.
    Told,
    /// The first load on an empty platform with no bin chosen: perhaps the bin itself.
    PerhapsTheBin,
    /// The same line came twice from a scale that prints only when stable.
    PerhapsRepeated {
        /// The drop that had this weight before.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        of: Option<EntryId>,
    },
}

/// Where a weight comes from that this scale did not show, with half the width in which the truth lies.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "from")]
pub enum Source {
    BenchScale { division: Mass },
    HangingScale { division: Mass },
    YardScale { division: Mass },
    Label { division: Mass },
    Estimate { low: Mass, high: Mass },
}
