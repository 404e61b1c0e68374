//! The whole file.

use super::bench::BenchConfig;
use super::reader::{Fault, Faults, Table};
use super::{CHECK_CLASSES, CHECK_TABLES, CURRENCY, CheckConfig, Config, LISTEN, STALE_AFTER, default_socket, default_store};
use crate::measure::Currency;
use jiff::tz::TimeZone;
use std::collections::BTreeSet;
use std::net::SocketAddr;
use std::path::PathBuf;
use toml::de::DeTable;

/// Reads a configuration, or tells of every fault that it has, in the order of the lines.
/// `variable` gives environment variables: the service's directories come from there.
pub fn parse(text: &str, variable: impl Fn(&str) -> Option<String>) -> Result<Config, Vec<Fault>> {
    let mut faults = Faults::new(text);
    let (root, errors) = DeTable::parse_recoverable(text);
    faults.broken = !errors.is_empty();
    for error in errors {
        faults.at(error.span().map_or(0, |span| span.start), "", error.message().to_owned());
    }
    let mut table = Table::new(Some(root.get_ref()), "", 0);
    let zone = table.text("zone", &mut faults, |name| {
        TimeZone::get(name).map_err(|_| "must be a name of the IANA time zone database, as in \"Europe/Lisbon\"".into())
    });
    let currency = table.text("currency", &mut faults, |code| {
        Currency::parse(code).ok_or_else(|| "must be three capital letters, as in \"EUR\" (ISO 4217)".into())
    });

    let mut store = table.table("store", &mut faults);
    let directory = store.text("directory", &mut faults, |path| Ok(PathBuf::from(path)));
    store.finish(&mut faults);

    let mut http = table.table("http", &mut faults);
    let address =
        |text: &str| text.parse::<SocketAddr>().map_err(|_| format!("must be an address with a port, as in {LISTEN:?}"));
    let listen = http.text("listen", &mut faults, address);
    let names = http.texts("names", &mut faults).unwrap_or_default();
    let socket = http.text("socket", &mut faults, |path| Ok(PathBuf::from(path)));
    let listen = listen.unwrap_or_else(|| LISTEN.parse().expect("the default is an address"));
    if let Some(value) = http.value("listen")
        && !listen.ip().is_loopback()
        && names.is_empty()
    {
        let what = "is open to the network: name the hosts that may ask in http.names, or listen on 127.0.0.1";
        faults.at(value.span().start, "http.listen", what);
    }
    http.finish(&mut faults);

    let mut quotes = table.table("quotes", &mut faults);
    let stale_after = quotes.number("stale_after_days", &mut faults, 1..=3650);
    quotes.finish(&mut faults);

    let mut checks = table.table("checks", &mut faults);
    let one_of = |known: &'static [&'static str]| {
        move |text: &str| {
            let found = known.iter().copied().find(|known| *known == text);
            found.ok_or_else(|| format!("must be one of {}", known.join(", ")))
        }
    };
    let usual = CheckConfig::default();
    let every_days = checks.number("every_days", &mut faults, 1..=3650);
    let class = checks.text("class", &mut faults, one_of(&CHECK_CLASSES));
    let held_to = checks.text("table", &mut faults, one_of(&CHECK_TABLES));
    if let (Some("IIIL"), Some(value)) = (class, checks.value("class"))
        && held_to != Some("handbook-44")
    {
        faults.at(value.span().start, "checks.class", "is a class of handbook-44 alone: write table = \"handbook-44\"");
    }
    checks.finish(&mut faults);
    let checks = CheckConfig {
        every_days: every_days.map_or(usual.every_days, |days| days as u16),
        class,
        table: held_to.unwrap_or(usual.table),
    };

    let benches = benches(&mut table, &mut faults);
    table.finish(&mut faults);
    if !faults.found.is_empty() {
        faults.found.sort_by_key(|fault| fault.line);
        return Err(faults.found);
    }
    Ok(Config {
        zone: zone.unwrap_or_else(TimeZone::system),
        currency: currency.unwrap_or_else(|| Currency::parse(CURRENCY).expect("three capital letters")),
        store: directory.unwrap_or_else(|| default_store(&variable)),
        listen,
        names,
        socket: socket.unwrap_or_else(|| default_socket(&variable)),
        stale_after: stale_after.map_or(STALE_AFTER, |days| days as u16),
        checks,
        benches,
    })
}

fn benches(table: &mut Table<'_, '_>, faults: &mut Faults<'_>) -> Vec<BenchConfig> {
    if table.value("bench").is_none() {
        faults.missing("bench", "there is no bench: write [[bench]] and under it port = \"/dev/serial/by-id/…\"");
    }
    let tables = table.tables("bench", faults, "must be written with two brackets: [[bench]]");
    let places: Vec<usize> = tables.iter().map(Table::offset).collect();
    let benches: Vec<BenchConfig> = tables.into_iter().map(|table| BenchConfig::read(table, faults)).collect();
    taken_twice(&benches, &places, faults);
    benches
}

/// A device has one taker: a second entry with its path would never open.
fn taken_twice(benches: &[BenchConfig], places: &[usize], faults: &mut Faults<'_>) {
    let mut taken = BTreeSet::new();
    for (index, (bench, place)) in benches.iter().zip(places).enumerate() {
        if !taken.insert(bench.port.to_string()) {
            let what = format!("{} is named twice; each scale has one bench", bench.port);
            faults.at(*place, &format!("bench[{}].port", index + 1), what);
        }
    }
    for (index, (bench, place)) in benches.iter().zip(places).enumerate() {
        for keys in &bench.keys {
            if !taken.insert(keys.path().display().to_string()) {
                let what = format!("{} is named twice; each device has one place", keys.path().display());
                faults.at(*place, &format!("bench[{}].keys", index + 1), what);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{Act, KeysAt, KeysConfig, KeysKind};
    use crate::dialect::Dialect;
    use crate::measure::Span;

    fn faults(text: &str) -> Vec<(usize, String)> {
        let found = parse(text, |_| None).unwrap_err();
        found.into_iter().map(|fault| (fault.line, fault.key)).collect()
    }

    #[test]
    fn only_the_port_has_no_default() {
        let config = parse("[[bench]]\nport = \"/dev/serial/by-id/scale\"\n", |_| None).unwrap();
        assert_eq!(config.listen.to_string(), LISTEN);
        assert_eq!(config.benches, [BenchConfig::at("/dev/serial/by-id/scale")]);
    }

    #[test]
    fn three_faults_are_told_with_their_lines() {
        let text = "currency = \"euro\"\n[http]\nlisten = \"everywhere\"\n[[bench]]\nport = \"/dev/ttyUSB0\"\ndialekt = \"x\"\n";
        let expected = [(1, "currency"), (3, "http.listen"), (6, "bench[1].dialekt")];
        assert_eq!(faults(text), expected.map(|(line, key)| (line, key.to_owned())));
    }

    #[test]
    fn how_scales_are_checked() {
        let checks = |text: &str| parse(&format!("[checks]\n{text}[[bench]]\nport = \"x\"\n"), |_| None).unwrap().checks;
        assert_eq!(checks(""), CheckConfig { every_days: 30, class: None, table: "r76" });
        let told = CheckConfig { every_days: 7, class: Some("IIIL"), table: "handbook-44" };
        assert_eq!(checks("every_days = 7\nclass = \"IIIL\"\ntable = \"handbook-44\"\n"), told);
        let wrong = "[checks]\nevery_days = 0\nclass = \"3\"\ntable = \"x\"\n[[bench]]\nport = \"x\"\n";
        let keys = ["checks.every_days", "checks.class", "checks.table"];
        assert_eq!(faults(wrong), (2..).zip(keys.map(str::to_owned)).collect::<Vec<_>>());
        assert_eq!(faults("[checks]\nclass = \"IIIL\"\n[[bench]]\nport = \"x\"\n"), [(2, "checks.class".into())]);
    }

    #[test]
    fn what_is_missing_is_told() {
        assert_eq!(faults(""), [(0, "bench".into())]);
        assert_eq!(faults("[[bench]]\nname = \"a\"\n"), [(1, "bench[1].port".into())]);
        assert_eq!(faults("[[bench]]\nport = \"x\"\nline = \"9600 9N1\"\n"), [(3, "bench[1].line".into())]);
        assert_eq!(
            faults("[[bench]]\nport = \"x\"\ndialect = \"bare-number\"\npoll_ms = 5\n"),
            [(4, "bench[1].poll_ms".into()), (4, "bench[1].poll_ms".into())]
        );
    }

    #[test]
    fn a_scale_may_hang_on_a_bridge_or_be_a_device_of_its_own() {
        let bench = |text: &str| parse(&format!("[[bench]]\n{text}"), |_| None).unwrap().benches[0].clone();
        let bridge = bench("port = \"tcp://192.168.1.20:4001\"\ndialect = \"letter-reply\"\npoll_ms = 200\n");
        assert_eq!((bridge.port.to_string().as_str(), bridge.poll_ms), ("tcp://192.168.1.20:4001", Some(200)));
        let told = |text: &str| faults(&format!("[[bench]]\n{text}"));
        assert_eq!(told("port = \"tcp://bridge\"\n"), [(2, "bench[1].port".into())]);
        assert_eq!(told("port = \"tcp://bridge:23\"\nline = \"9600 8N1\"\n"), [(3, "bench[1].line".into())]);
        let usb = bench("port = \"hid:1a2b:3c4d\"\n");
        assert_eq!((usb.port.to_string().as_str(), usb.dialect), ("hid:1a2b:3c4d", Dialect::HidScale));
        let odd = "port = \"hid:1a2b:3c4d\"\nline = \"9600 8N1\"\ndialect = \"bare-number\"\n";
        assert_eq!(told(odd), [(3, "bench[1].line".into()), (4, "bench[1].dialect".into())]);
        let twice = "[[bench]]\nport = \"tcp://b:23\"\n[[bench]]\nport = \"tcp://b:23\"\n";
        assert_eq!(faults(twice), [(3, "bench[2].port".into())]);
    }

    #[test]
    fn an_own_pattern_is_checked_with_the_file() {
        let head = "[[bench]]\nport = \"/dev/ttyS0\"\n";
        let bench = |text: &str| parse(&format!("{head}{text}"), |_| None).unwrap().benches[0].clone();
        let own = bench("[bench.pattern]\nframe = '(?<value>[-0-9.]+) (?<unit>kg|lb)'\nends = \"\\u0003\"\n").pattern.unwrap();
        assert_eq!((own.frame(), own.ends()), ("(?<value>[-0-9.]+) (?<unit>kg|lb)", &b"\x03"[..]));
        let told = |text: &str| faults(&format!("{head}{text}"));
        let here = |line: usize, key: &str| (line, format!("bench[1].{key}"));
        assert_eq!(told("[bench.pattern]\n"), [here(3, "pattern.frame")]);
        assert_eq!(
            told("[bench.pattern]\nframe = '(?<weight>.)'\nend = 3\n"),
            [here(4, "pattern.frame"), here(5, "pattern.end")]
        );
        assert_eq!(
            told("[bench.pattern]\nends = ''\nframe = '(?<value>.'\n"),
            [here(4, "pattern.ends"), here(5, "pattern.frame")]
        );
        assert_eq!(told("pattern = '(?<value>.)'\n"), [here(3, "pattern")]);
        let twice = "dialect = \"letter-reply\"\npoll_ms = 200\n[bench.pattern]\nframe = '(?<value>.)'\n";
        assert_eq!(told(twice), [here(3, "dialect"), here(4, "poll_ms")]);
    }

    #[test]
    fn a_line_that_is_no_toml_is_told_beside_the_other_faults() {
        let told = faults("zone = 5\n[[bench]]\nport = \"x\"\nunit = kg\n[http]\nlisten = 3\n");
        assert_eq!(told, [(1, "zone".into()), (4, String::new()), (6, "http.listen".into())]);
    }

    #[test]
    fn what_stands_behind_a_broken_head_is_not_called_missing_or_unknown() {
        let told = faults("zone = 5\n[[bench]\nport = \"x\"\n");
        assert_eq!(told, [(1, "zone".into()), (2, String::new())]);
    }

    #[test]
    fn a_port_that_is_open_to_the_network_needs_names() {
        let text = "[http]\nlisten = \"0.0.0.0:8737\"\n[[bench]]\nport = \"x\"\n";
        assert_eq!(faults(text), [(2, "http.listen".into())]);
        assert!(parse(&text.replace("[[bench]]", "names = [\"bench.local\"]\n[[bench]]"), |_| None).is_ok());
    }

    fn keys(text: &str) -> KeysConfig {
        let text = format!("[[bench]]\nport = \"scale\"\n[[bench.keys]]\n{text}");
        parse(&text, |_| None).unwrap().benches[0].keys[0].clone()
    }

    #[test]
    fn keys_need_a_place_and_nothing_else() {
        let at = KeysAt::Device("/dev/input/by-id/x".into());
        let scanner = KeysConfig { at: at.clone(), kind: KeysKind::Scanner };
        assert_eq!(keys("device = \"/dev/input/by-id/x\"\n"), scanner);
        let pad = |pause| KeysConfig { at: at.clone(), kind: KeysKind::Pad { pause } };
        let typed = "device = \"/dev/input/by-id/x\"\nkind = \"pad\"\n";
        assert_eq!(keys(typed), pad(Some(Span::seconds(1))));
        assert_eq!(keys(&format!("{typed}pause_ms = 0\n")), pad(None));
        let pedal = keys("device = \"x\"\nkind = \"pedal\"\nacts = { KEY_F1 = \"next\", KEY_KP7 = 12, BTN_0 = \"pause\" }\n");
        let acts = [(59, Act::Next), (71, Act::Bin(12)), (256, Act::Pause)].into();
        assert_eq!(pedal.kind, KeysKind::Pedal { acts });
        let serial = KeysAt::Port { path: "/dev/serial/by-id/y".into(), line: Some("9600 7E1".into()) };
        assert_eq!(keys("port = \"/dev/serial/by-id/y\"\nline = \"9600 7E1\"\n").at, serial);
    }

    #[test]
    fn faults_of_keys_are_told_with_their_lines() {
        let told = |text: &str| faults(&format!("[[bench]]\nport = \"scale\"\n[[bench.keys]]\n{text}"));
        let here = |line: usize, key: &str| (line, format!("bench[1].keys[1]{key}"));
        assert_eq!(told("kind = \"pad\"\n"), [here(3, ".device")]);
        assert_eq!(told("device = \"a\"\nport = \"b\"\n"), [here(5, ".port")]);
        assert_eq!(told("device = \"a\"\nline = \"9600\"\nkind = \"lamp\"\n"), [here(5, ".line"), here(6, ".kind")]);
        assert_eq!(told("port = \"a\"\nkind = \"pedal\"\n"), [here(5, ".kind")]);
        assert_eq!(told("device = \"a\"\npause_ms = 500\nacts = { KEY_A = 1 }\n"), [here(5, ".pause_ms"), here(6, ".acts")]);
        let pedal = |acts: &str| told(&format!("device = \"a\"\nkind = \"pedal\"\n[bench.keys.acts]\n{acts}"));
        let broken = pedal("KEY_A = 1\nKEY_NONE = 2\nKEY_B = \"nxt\"\nKEY_C = -1\n");
        assert_eq!(broken, [here(8, ".acts.KEY_NONE"), here(9, ".acts.KEY_B"), here(10, ".acts.KEY_C")]);
        assert_eq!(told("device = \"a\"\nkind = \"pedal\"\nacts = {}\n"), [here(6, ".acts")]);
        assert_eq!(told("port = \"scale\"\n"), [(1, "bench[1].keys".into())]);
        assert_eq!(faults("[[bench]]\nport = \"x\"\nkeys = 5\n"), [(3, "bench[1].keys".into())]);
    }
}
