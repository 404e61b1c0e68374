//! What the program reckons, reckoned again by other means: Python with decimal, scipy and pint.

#[path = "support/python.rs"]
mod python;

use bismar::economy::student::t95;

/// The printed table of t that every interval rests on, row by row, against the quantile that scipy reckons.
#[test]
fn the_table_of_t_is_the_quantile() {
    let Some(python) = python::python() else { return };
    let rows: Vec<String> = (1..=30).chain([40, 50, 60, 100]).map(|freedom: u32| freedom.to_string()).collect();
    let arguments: Vec<&str> = rows.iter().map(String::as_str).collect();
    let said = python::run(&python, "student.py", &arguments, "");
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    let ours: Vec<String> = rows.iter().map(|row| t95(row.parse().unwrap()).unwrap().to_string()).collect();
    assert_eq!(String::from_utf8_lossy(&said.stdout).lines().collect::<Vec<_>>(), ours);
}
