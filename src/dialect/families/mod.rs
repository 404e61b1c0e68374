//! One file a frame family. A new one adds its `mod` line and its line in the register, and nothing else here.

mod bare_number;
mod columns_mark_first;
mod columns_question;
mod columns_sign16;
mod diy_text;
mod enq_block;
mod enq_line;
mod header_comma;
mod labelled_line;
mod letter_reply;
mod letter_reply_wide;
mod lf_fixed_flags;
mod lf_status_chars;
mod mode_sign_line;
mod number_unit_legend;
mod pos_stx;
mod sign_unit_mode_line;
mod stx_status_words;
mod ticket;

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
    PosStx = pos_stx,
    HeaderComma = header_comma,
    LetterReply = letter_reply,
    LetterReplyWide = letter_reply_wide,
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
    BareNumber = bare_number,
}
