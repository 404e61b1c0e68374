//! One file a frame family. A new one adds its `mod` line and its line in the register, and nothing else here.

mod bare_number;
mod header_comma;
mod hid_scale;
mod hid_scale_noid;
mod letter_reply;
mod lf_status_chars;
mod stx_status_words;

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
    LfStatusChars = lf_status_chars,
    StxStatusWords = stx_status_words,
    HeaderComma = header_comma,
    LetterReply = letter_reply,
    HidScale = hid_scale,
    HidScaleNoid = hid_scale_noid,
    BareNumber = bare_number,
}
