//! A real browser, driven through WebDriver.

use super::scratch::until;
use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::json;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::channel;
use std::time::Duration;
use tempfile::TempDir;

/// How a page is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    pub name: &'static str,
    pub width: u32,
    pub height: u32,
    pub dark: bool,
    pub script: bool,
}

pub struct Browser {
    driver: Child,
    port: u16,
    chromium: PathBuf,
    profiles: TempDir,
}

fn find(names: &[&str]) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    let places =
        std::env::split_paths(&path).flat_map(|place| names.iter().map(move |name| place.join(name)).collect::<Vec<_>>());
    places.into_iter().find(|place| place.is_file())
}

impl Browser {
    /// None, said aloud, where there is no browser; a failure where the checks of a change must not be skipped.
    pub fn start() -> Option<Browser> {
        let found = find(&["chromium", "chromium-browser"]).zip(find(&["chromedriver"]));
        let Some((chromium, driver)) = found else {
            assert!(std::env::var_os("BISMAR_CI").is_none(), "chromium and chromedriver are needed: install chromium-driver");
            // Past the test harness, which would keep what a passing test prints to itself.
            _ = writeln!(std::io::stderr(), "SKIPPED: no chromium and chromedriver here, so the pages are not looked at");
            return None;
        };
        let mut driver = Command::new(driver).arg("--port=0").stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let (sender, port) = channel();
        let lines = BufReader::new(driver.stdout.take().unwrap()).lines();
        std::thread::spawn(move || {
            for line in lines.map_while(Result::ok) {
                if let Some((_, after)) = line.split_once("successfully on port ") {
                    _ = sender.send(after.trim_end_matches('.').parse::<u16>().unwrap());
                }
            }
        });
        let port = until("chromedriver", || port.try_recv().ok());
        Some(Browser { driver, port, chromium, profiles: tempfile::tempdir().unwrap() })
    }

    /// The driver ends its browsers, answers and ends itself.
    fn ask_to_end(&self) -> std::io::Result<()> {
        let mut line = TcpStream::connect((Ipv4Addr::LOCALHOST, self.port))?;
        line.set_read_timeout(Some(Duration::from_secs(20)))?;
        write!(line, "GET /shutdown HTTP/1.1\r\nHost: localhost:{}\r\nConnection: close\r\n\r\n", self.port)?;
        line.read_to_end(&mut Vec::new()).map(|_| ())
    }

    /// A window with a profile of its own.
    pub async fn open(&self, look: &Look) -> Client {
        let Look { width, height, dark, script, .. } = *look;
        let profile = tempfile::tempdir_in(self.profiles.path()).unwrap().keep();
        let arguments = [
            "--headless=new".to_owned(),
            "--no-sandbox".to_owned(),
            "--disable-gpu".to_owned(),
            "--disable-dev-shm-usage".to_owned(),
            "--disable-quic".to_owned(),
            "--no-first-run".to_owned(),
            "--disable-background-networking".to_owned(),
            "--disable-component-update".to_owned(),
            "--disable-sync".to_owned(),
            format!("--user-data-dir={}", profile.display()),
            format!("--blink-settings=preferredColorScheme={}", if dark { 0 } else { 1 }),
        ];
        let mut options = json!({
            "binary": self.chromium,
            "args": arguments,
            "mobileEmulation": { "deviceMetrics": { "width": width, "height": height, "pixelRatio": 1.0, "touch": false, "mobile": false } },
        });
        if !script {
            options["prefs"] = json!({ "profile.managed_default_content_settings.javascript": 2 });
        }
        let capabilities = json!({ "browserName": "chrome", "goog:chromeOptions": options });
        let mut builder = ClientBuilder::new(HttpConnector::new());
        builder.capabilities(capabilities.as_object().unwrap().clone());
        builder.connect(&format!("http://127.0.0.1:{}", self.port)).await.expect("a browser window")
    }

    /// Keeps pictures of the page's top and of its end, to be looked at by eye.
    pub async fn keep(&self, page: &Client, look: &Look, name: &str) {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("pages");
        std::fs::create_dir_all(&folder).unwrap();
        let shade = if look.dark { "dark" } else { "light" };
        for (part, down) in [("top", "0"), ("end", "document.documentElement.scrollHeight")] {
            if look.script {
                page.execute(&format!("window.scrollTo(0, {down})"), vec![]).await.unwrap();
            }
            let picture = page.screenshot().await.unwrap();
            assert!(picture.starts_with(b"\x89PNG"));
            std::fs::write(folder.join(format!("{name}, {}, {shade}, {part}.png", look.name)), picture).unwrap();
        }
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        // Killed, it would leave every browser behind whose page was not closed, with nobody to end it.
        let asked = self.ask_to_end();
        if asked.is_err() {
            _ = self.driver.kill();
        }
        _ = self.driver.wait();
    }
}
