//! What must hold for any bytes: as a case file, and as a value with its unit. Shared by the fuzz targets and the tests.

use std::path::PathBuf;

use quenchway::file;
use quenchway::file::resolved::resolved;
use quenchway::units::hidden::is_hidden;
use quenchway::units::{Dimension, System, parse, show, write};
use quenchway_terminal::diagnostic::{Failure, Look};

/// A case that reads back from its resolved text as itself, or problems that can be drawn and lie within the text.
pub fn case_text(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match file::read(text) {
        Ok(mut case) => {
            assert!(case.line_speed.is_finite() && case.tolerance > 0.0);
            let written = resolved(&case);
            let again = file::read(&written).unwrap_or_else(|problems| panic!("{problems:#?}\n{written}"));
            // What was assumed is written out; every number prints in as many digits as make it.
            case.assumptions.clear();
            assert_eq!(format!("{again:#?}"), format!("{case:#?}"), "{written}");
            assert_eq!(resolved(&again), resolved(&case));
        }
        Err(problems) => {
            assert!(!problems.is_empty());
            for problem in &problems {
                // The reader's own admission has no place in the text; words of the text may say the same.
                let admits = problem.span.is_none() && problem.message.contains("fault of the program");
                assert!(!admits, "{}", problem.message);
                if let Some(span) = &problem.span {
                    assert!(text.get(span.clone()).is_some(), "{span:?} is not within the text");
                }
            }
            let failure = Failure::Case { path: PathBuf::from("case.toml"), text: text.to_string(), problems };
            for look in [Look::PLAIN, Look { width: 40, unicode: true, colour: false }] {
                let report = failure.render(look);
                let steers = |c: char| is_hidden(c) && c != '\n' && c != '\t' && c != '\r';
                assert!(!report.contains(steers), "the report holds a control character: {report:?}");
            }
        }
    }
}

/// In every dimension a finite value that is written and read again exactly, or an error with words.
pub fn unit_text(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    for dimension in Dimension::ALL {
        match parse(text, dimension) {
            Ok(value) => {
                assert!(value.is_finite(), "{text:?} is {value}");
                let si = write(value, dimension, System::Si);
                assert_eq!(parse(&si, dimension), Ok(value), "{text:?} was written as {si:?}");
                // Six digits of the number shown; 32 degF is a shift of it. Beyond 1e300 a factor may overflow.
                if value.abs() < 1e300 {
                    let us = write(value, dimension, System::Us);
                    let (shown, _) = show(value, dimension, System::Us);
                    let (again, _) = show(parse(&us, dimension).unwrap_or(f64::NAN), dimension, System::Us);
                    assert!((again - shown).abs() <= 1e-5 * shown.abs() + 1e-9, "{text:?} was written as {us:?}");
                }
            }
            Err(error) => assert!(!error.wrong().is_empty() && !error.remedy().is_empty()),
        }
    }
}
