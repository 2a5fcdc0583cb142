//! The page to try numbers on: the engine packed, what it may run named by its hash.

use std::time::SystemTime;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use libdeflater::{CompressionLvl, Compressor};
use quenchway_page::sheet::{Carried, SCRIPT, STYLE, html, policy};
use sha2::{Digest, Sha256};

use crate::build;
use crate::store::{sha256, stamp};

/// The engine as WebAssembly; none in a program that was built without it.
pub fn engine() -> Option<&'static [u8]> {
    #[cfg(page_engine)]
    return Some(include_bytes!(env!("QUENCHWAY_PAGE_ENGINE")));
    #[cfg(not(page_engine))]
    None
}

/// The page of a case.
pub fn page(title: &str, case: &str, name: &str, us: bool, engine: &[u8]) -> Result<String, String> {
    let packed = packed(engine).ok_or("the engine could not be packed")?;
    let hash = |text: &str| STANDARD.encode(Sha256::digest(text.as_bytes()));
    let (sha256, written) = (sha256(case), stamp(SystemTime::now()));
    let carried = Carried { case, name, program: build::PROGRAM, sha256: &sha256, written: &written, us };
    Ok(html(title, &carried, &packed, &policy(&hash(SCRIPT), &hash(STYLE))))
}

/// A zlib stream, as small as it gets.
fn packed(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut packer = Compressor::new(CompressionLvl::best());
    let mut out = vec![0; packer.zlib_compress_bound(bytes.len())];
    let length = packer.zlib_compress(bytes, &mut out).ok()?;
    out.truncate(length);
    Some(out)
}
