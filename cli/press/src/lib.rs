//! Chunks as HDF5 keeps them, bytes of equal weight side by side (shuffle) and in a zlib stream (deflate), made by several
//! threads: HDF5 itself would compress on one.

use std::io;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread;

use zlib_rs::adler32::adler32;
use zlib_rs::{Deflate, DeflateFlush, Status};

/// How hard it is tried where bytes have a pattern.
const LEVEL: i32 = 4;
/// So many bytes of a kind say whether they have one.
const TRIED: usize = 2048;
/// They have none where they shrink by less than this share of their number.
const WORTH: f64 = 0.02;

/// A chunk on its way into a file.
pub struct Chunk {
    /// The variable it belongs to.
    pub variable: usize,
    /// Where it begins in the variable.
    pub offset: Vec<u64>,
    /// Bytes of a value.
    pub width: usize,
    /// Its values, then its values compressed.
    pub bytes: Vec<u8>,
}

/// Threads that compress chunks; what is compressed comes back in the order in which it was given.
pub struct Press {
    threads: Vec<(SyncSender<Chunk>, Receiver<Option<Chunk>>)>,
    given: usize,
    taken: usize,
}

impl Press {
    /// Chunks that a thread holds: one in work, one that waits on either side of it.
    const HELD: usize = 3;

    /// Starts so many threads; they end when the press is dropped.
    pub fn new(threads: usize) -> io::Result<Press> {
        let start = |_| {
            let (give, given) = sync_channel::<Chunk>(1);
            let (done, take) = sync_channel(1);
            thread::Builder::new().spawn(move || {
                let mut packer = Packer::new();
                for mut chunk in given {
                    let packed = packer.pack(&chunk.bytes, chunk.width).map(|bytes| {
                        chunk.bytes = bytes;
                        chunk
                    });
                    if done.send(packed).is_err() {
                        return;
                    }
                }
            })?;
            Ok((give, take))
        };
        Ok(Press { threads: (0..threads.max(1)).map(start).collect::<io::Result<_>>()?, given: 0, taken: 0 })
    }

    /// Gives a chunk; comes back with an earlier one when all threads have enough.
    pub fn give(&mut self, chunk: Chunk) -> Result<Option<Chunk>, String> {
        let full = self.given - self.taken == Press::HELD * self.threads.len();
        let earlier = if full { self.take()? } else { None };
        let (give, _) = &self.threads[self.given % self.threads.len()];
        give.send(chunk).map_err(|_| Press::broken())?;
        self.given += 1;
        Ok(earlier)
    }

    /// The next compressed chunk in order; none when all are back.
    pub fn take(&mut self) -> Result<Option<Chunk>, String> {
        if self.taken == self.given {
            return Ok(None);
        }
        let (_, take) = &self.threads[self.taken % self.threads.len()];
        self.taken += 1;
        take.recv().ok().flatten().map(Some).ok_or_else(Press::broken)
    }

    fn broken() -> String {
        "a chunk could not be compressed".to_string()
    }
}

/// Compresses chunk after chunk.
///
/// The stream is that of P. Deutsch and J.-L. Gailly, ZLIB Compressed Data Format Specification version 3.3, RFC 1950 (1996),
/// in blocks as P. Deutsch, DEFLATE Compressed Data Format Specification version 1.3, RFC 1951 (1996), section 3.2 lays them.
struct Packer {
    stream: Deflate,
    probe: Deflate,
}

impl Packer {
    /// Deflate in a window of 32 KiB; the second byte makes the two a multiple of 31.
    const BEGIN: [u8; 2] = [0x78, 0x5e];
    /// An empty last block.
    const END: [u8; 2] = [0x03, 0x00];

    fn new() -> Packer {
        Packer { stream: Deflate::new(LEVEL, false, 15), probe: Deflate::new(1, false, 15) }
    }

    /// Values of so many bytes, shuffled and compressed; none where the library fails.
    ///
    /// The low bytes of computed numbers are noise, which takes most of the time and never shrinks: it is stored as it is.
    fn pack(&mut self, values: &[u8], width: usize) -> Option<Vec<u8>> {
        let count = values.len() / width.max(1);
        let shuffled = shuffled(values, width);
        let mut out = Vec::with_capacity(values.len() + 1024);
        out.extend(Packer::BEGIN);
        for plane in shuffled.chunks(count.max(1)) {
            if self.has_pattern(plane)? {
                self.deflate(plane, &mut out)?;
            } else {
                store(plane, &mut out);
            }
        }
        out.extend(Packer::END);
        out.extend(adler32(1, &shuffled).to_be_bytes());
        Some(out)
    }

    /// Appends blocks that hold some bytes compressed, and end with a whole byte.
    fn deflate(&mut self, bytes: &[u8], out: &mut Vec<u8>) -> Option<()> {
        let begin = out.len();
        // What does not shrink grows by a few bytes in 16 thousand.
        out.resize(begin + bytes.len() + bytes.len() / 1000 + 64, 0);
        self.stream.reset();
        let status = self.stream.compress(bytes, &mut out[begin..], DeflateFlush::SyncFlush).ok()?;
        out.truncate(begin + self.stream.total_out() as usize);
        (status == Status::Ok && self.stream.total_in() == bytes.len() as u64).then_some(())
    }

    /// Whether bytes shrink.
    fn has_pattern(&mut self, bytes: &[u8]) -> Option<bool> {
        let tried = &bytes[..bytes.len().min(TRIED)];
        let mut room = [0; TRIED + 256];
        self.probe.reset();
        self.probe.compress(tried, &mut room, DeflateFlush::Finish).ok()?;
        Some((self.probe.total_out() as f64) < (1.0 - WORTH) * tried.len() as f64)
    }
}

/// Appends blocks that hold some bytes as they are.
fn store(bytes: &[u8], out: &mut Vec<u8>) {
    for piece in bytes.chunks(usize::from(u16::MAX)) {
        let length = piece.len() as u16;
        out.push(0);
        out.extend(length.to_le_bytes());
        out.extend((!length).to_le_bytes());
        out.extend_from_slice(piece);
    }
}

/// The first bytes of all values, then the second ones, and so on: as HDF5's shuffle filter lays them.
fn shuffled(values: &[u8], width: usize) -> Vec<u8> {
    if width <= 1 {
        return values.to_vec();
    }
    let count = values.len() / width;
    let mut out = vec![0; values.len()];
    for (byte, plane) in out.chunks_mut(count.max(1)).enumerate().take(width) {
        for (to, value) in plane.iter_mut().zip(values.chunks_exact(width)) {
            *to = value[byte];
        }
    }
    out
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn unpacked(packed: &[u8], size: usize, width: usize) -> Vec<u8> {
        let mut shuffled = vec![0; size];
        let mut inflate = zlib_rs::Inflate::new(true, 15);
        let status = inflate.decompress(packed, &mut shuffled, zlib_rs::InflateFlush::Finish).unwrap();
        assert_eq!((status, inflate.total_in()), (Status::StreamEnd, packed.len() as u64));
        let count = size / width;
        (0..size).map(|place| shuffled[(place % width) * count + place / width]).collect()
    }

    proptest! {
        #[test]
        fn what_is_packed_comes_out_again(
            values in prop::collection::vec(prop_oneof![Just(0.0), Just(f64::NAN), -1e9..1e9], 1..6000),
            smooth in any::<bool>(),
        ) {
            let mut packer = Packer::new();
            // Twice: nothing of one chunk may be left for the next.
            for _ in 0..2 {
                let number = |(place, value): (usize, &f64)| if smooth { (place as f64 * 1e-3).sin() } else { *value };
                let bytes: Vec<u8> = values.iter().enumerate().map(number).flat_map(f64::to_ne_bytes).collect();
                prop_assert_eq!(&unpacked(&packer.pack(&bytes, 8).unwrap(), bytes.len(), 8), &bytes);
                prop_assert_eq!(&unpacked(&packer.pack(&bytes, 1).unwrap(), bytes.len(), 1), &bytes);
            }
        }
    }

    #[test]
    fn a_pattern_shrinks_and_noise_hardly_grows() {
        let mut packer = Packer::new();
        let noise =
            |place: u64| f64::from_bits(0x3ff0_0000_0000_0000 | (place.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 12));
        let size = |bytes: Vec<u8>, packer: &mut Packer| packer.pack(&bytes, 8).unwrap().len();
        let all: Vec<u8> = (0..16_384).map(noise).flat_map(f64::to_ne_bytes).collect();
        // Sign, exponent and half a byte are the same everywhere: 52 bits of 64 are noise.
        assert!((size(all, &mut packer) as f64) < 0.84 * 8.0 * 16_384.0);
        let rows: Vec<u8> = (0..16_384).map(|place| noise(place % 500)).flat_map(f64::to_ne_bytes).collect();
        assert!(size(rows, &mut packer) < 16_384, "noise that repeats is a pattern");
        assert!(size(vec![0; 131_072], &mut packer) < 1000);
    }

    #[test]
    fn chunks_come_back_in_their_order() {
        let mut press = Press::new(3).unwrap();
        let chunk = |variable| Chunk {
            variable,
            offset: vec![],
            width: 8,
            bytes: vec![variable as u8; 80_000 / (1 + variable % 5)],
        };
        let mut back = Vec::new();
        for variable in 0..40 {
            back.extend(press.give(chunk(variable)).unwrap());
        }
        while let Some(chunk) = press.take().unwrap() {
            back.push(chunk);
        }
        assert!(back.iter().map(|chunk| chunk.variable).eq(0..40));
    }
}
