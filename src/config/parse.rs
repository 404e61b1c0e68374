//! The whole file.

use super::bench::BenchConfig;
use super::reader::{Fault, Faults, Table};
use super::{Config, LISTEN, STALE_AFTER, default_socket, default_store};
use crate::measure::Currency;
use jiff::tz::TimeZone;
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

    let benches = benches(&mut table, &mut faults);
    table.finish(&mut faults);
    if !faults.found.is_empty() {
        faults.found.sort_by_key(|fault| fault.line);
        return Err(faults.found);
    }
    Ok(Config {
        zone: zone.unwrap_or_else(TimeZone::system),
        currency: currency.unwrap_or_else(|| Currency::parse("EUR").expect("three capital letters")),
        store: directory.unwrap_or_else(|| default_store(&variable)),
        listen,
        names,
        socket: socket.unwrap_or_else(|| default_socket(&variable)),
        stale_after: stale_after.map_or(STALE_AFTER, |days| days as u16),
        benches,
    })
}

fn benches(table: &mut Table<'_, '_>, faults: &mut Faults<'_>) -> Vec<BenchConfig> {
    let Some(value) = table.value("bench") else {
        faults.missing("bench", "there is no bench: write [[bench]] and under it port = \"/dev/serial/by-id/…\"");
        return Vec::new();
    };
    let Some(list) = value.get_ref().as_array() else {
        faults.at(value.span().start, "bench", "must be written with two brackets: [[bench]]");
        return Vec::new();
    };
    let mut benches = Vec::new();
    for (index, item) in list.iter().enumerate() {
        let path = format!("bench[{}].", index + 1);
        let table = Table::new(item.get_ref().as_table(), path, item.span().start);
        benches.push(BenchConfig::read(table, faults));
    }
    benches
}

#[cfg(test)]
mod tests {
    use super::*;

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
}
