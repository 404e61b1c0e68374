//! One file a frame family. A new one adds its `mod` line and its line in the register, and nothing else here.

mod amp_net_gross;
mod bare_number;
mod columns_mark_first;
mod columns_question;
mod columns_sign16;
mod cr_embedded_etx;
mod cr_flags_etx;
mod diy_text;
mod dollar_short;
mod dollar_sum;
mod enq_block;
mod enq_line;
mod equals_forward;
mod ff_bcd;
mod header_comma;
mod header_comma_lamp;
mod header_comma_short;
mod header_comma_tare;
mod hex_status;
mod hid_scale;
mod hid_scale_noid;
mod labelled_line;
mod letter_reply;
mod letter_reply_wide;
mod lf_fixed_flags;
mod lf_status_chars;
mod mode_sign_line;
mod number_unit_legend;
mod pos_stx;
mod reversed_digits;
mod sign_unit_mode_line;
mod status_letter;
mod stx_bits_unit;
mod stx_code_digits;
mod stx_code_kind;
mod stx_letter_cr_etx;
mod stx_sign_etx;
mod stx_sign_flags_etx;
mod stx_sign_status_etx;
mod stx_sign_xor;
mod stx_status_sign_etx;
mod stx_status_words;
mod stx_status_words_b;
mod stx_status_words_short;
mod stx_three_weights;
mod stx_unit_mode_status;
mod stx_unit_motion;
mod stx_weight_letters_etx;
mod stx_words_unit_mode;
mod ticket;
mod two_letter_run;
mod two_letter_xor;

use super::family::Family;
use serde::{Deserialize, Serialize};

macro_rules! register {
    ($($variant:ident = $module:ident),* $(,)?) => {
        /// A frame family. Its name tells the shape of the bytes.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum Dialect {
            $($variant),*
        }

        impl Dialect {
            /// Every family, the more specific before the more general.
            pub const ALL: &'static [Dialect] = &[$(Dialect::$variant),*];

            pub(super) const fn family(self) -> &'static Family {
                match self {
                    $(Dialect::$variant => &$module::FAMILY),*
                }
            }
        }
    };
}

register! {
    LfFixedFlags = lf_fixed_flags,
    EnqBlock = enq_block,
    LfStatusChars = lf_status_chars,
    StxStatusWords = stx_status_words,
    StxBitsUnit = stx_bits_unit,
    StxLetterCrEtx = stx_letter_cr_etx,
    StxUnitModeStatus = stx_unit_mode_status,
    StxWordsUnitMode = stx_words_unit_mode,
    StxUnitMotion = stx_unit_motion,
    StxCodeDigits = stx_code_digits,
    CrFlagsEtx = cr_flags_etx,
    CrEmbeddedEtx = cr_embedded_etx,
    AmpNetGross = amp_net_gross,
    TwoLetterXor = two_letter_xor,
    HexStatus = hex_status,
    DollarSum = dollar_sum,
    DollarShort = dollar_short,
    PosStx = pos_stx,
    StxStatusWordsShort = stx_status_words_short,
    StxStatusWordsB = stx_status_words_b,
    StxSignXor = stx_sign_xor,
    StxThreeWeights = stx_three_weights,
    StxSignFlagsEtx = stx_sign_flags_etx,
    StxWeightLettersEtx = stx_weight_letters_etx,
    StxStatusSignEtx = stx_status_sign_etx,
    StxSignStatusEtx = stx_sign_status_etx,
    StxCodeKind = stx_code_kind,
    StxSignEtx = stx_sign_etx,
    HeaderCommaLamp = header_comma_lamp,
    HeaderCommaTare = header_comma_tare,
    HeaderComma = header_comma,
    HeaderCommaShort = header_comma_short,
    LetterReply = letter_reply,
    LetterReplyWide = letter_reply_wide,
    TwoLetterRun = two_letter_run,
    LabelledLine = labelled_line,
    Ticket = ticket,
    ModeSignLine = mode_sign_line,
    SignUnitModeLine = sign_unit_mode_line,
    EnqLine = enq_line,
    NumberUnitLegend = number_unit_legend,
    ColumnsMarkFirst = columns_mark_first,
    ColumnsSign16 = columns_sign16,
    ColumnsQuestion = columns_question,
    DiyText = diy_text,
    ReversedDigits = reversed_digits,
    EqualsForward = equals_forward,
    StatusLetter = status_letter,
    FfBcd = ff_bcd,
    HidScale = hid_scale,
    HidScaleNoid = hid_scale_noid,
    BareNumber = bare_number,
}
