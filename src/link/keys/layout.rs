//! Characters by the kernel's key codes, as on a US keyboard. Scanners leave the factory so, whatever layout the
//! system has; the system's own would turn a card into something else.

use evdev::KeyCode;

/// Rows of neighbouring codes: the first code, and what they type plain and with Shift.
const ROWS: [(KeyCode, &str, &str); 5] = [
    (KeyCode::KEY_1, "1234567890-=", "!@#$%^&*()_+"),
    (KeyCode::KEY_Q, "qwertyuiop[]", "QWERTYUIOP{}"),
    (KeyCode::KEY_A, "asdfghjkl;'`", "ASDFGHJKL:\"~"),
    (KeyCode::KEY_BACKSLASH, "\\zxcvbnm,./", "|ZXCVBNM<>?"),
    // The number block, whatever its NumLock says: a pad's lamp must not decide what a digit means.
    (KeyCode::KEY_KP7, "789-456+1230.", "789-456+1230."),
];
const SINGLES: [(KeyCode, char); 5] = [
    (KeyCode::KEY_SPACE, ' '),
    (KeyCode::KEY_KPASTERISK, '*'),
    (KeyCode::KEY_KPSLASH, '/'),
    (KeyCode::KEY_KPEQUAL, '='),
    // The dot of a pad made for a country that writes a comma.
    (KeyCode::KEY_KPCOMMA, '.'),
];

/// What a key types; none for one that types nothing.
pub fn character(code: u16, shift: bool) -> Option<char> {
    let single = SINGLES.iter().find(|(key, _)| key.code() == code).map(|(_, typed)| *typed);
    single.or_else(|| {
        ROWS.iter().find_map(|(first, plain, shifted)| {
            let index = usize::from(code.checked_sub(first.code())?);
            let row = if shift { shifted } else { plain };
            row.as_bytes().get(index).map(|byte| char::from(*byte))
        })
    })
}
