//! The names of the manners: they are typed, so they are the same in every language.

use super::Manner;

impl Manner {
    pub const ALL: [Manner; 4] = [Manner::Heap, Manner::Tray, Manner::Pan, Manner::Sort];

    pub const fn name(self) -> &'static str {
        match self {
            Manner::Heap => "heap",
            Manner::Tray => "tray",
            Manner::Pan => "pan",
            Manner::Sort => "sort",
        }
    }

    pub fn from_name(name: &str) -> Option<Manner> {
        Manner::ALL.into_iter().find(|manner| manner.name() == name)
    }
}
