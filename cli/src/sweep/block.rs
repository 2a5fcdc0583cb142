//! A block of finished samples as bytes: what makes it this study's, its numbers, and a checksum over all of it.

use quenchway::study::sweep::{Check, FieldsOf, Sample, Status};
use sha2::{Digest, Sha256};

use super::{Identity, Part};

/// What a block file begins with.
const MAGIC: &[u8] = b"quenchway-block";
/// The version of its layout, which follows.
const LAYOUT: u8 = b'2';
/// Bytes of the checksum, which follows.
const SUM: usize = 32;

/// Finished samples, one after the other.
#[derive(Clone, Debug)]
pub struct Block {
    /// Which block of the study.
    pub number: u64,
    /// The part that wrote it.
    pub part: Part,
    /// Index of the first sample.
    pub first: u64,
    /// What became of each.
    pub samples: Vec<Sample>,
    /// Input by input, the samples one after the other; none for a grid, whose axes say them.
    pub inputs: Vec<Vec<f64>>,
    /// Output by output, the samples one after the other: not a number where there is none.
    pub outputs: Vec<Vec<f64>>,
}

/// Why bytes are no block of a study.
#[derive(Clone, Debug, PartialEq)]
pub enum BlockError {
    /// Not what this program wrote, or not whole.
    Damaged,
    /// A block of another study, base case or build.
    Foreign(Box<Identity>),
}

impl Block {
    /// Whether two blocks hold the same samples, bit for bit, whichever parts wrote them.
    pub fn same(&self, other: &Block) -> bool {
        let whole = |block: &Block| Block { part: Part::WHOLE, ..block.clone() }.body();
        whole(self) == whole(other)
    }

    /// The block as bytes.
    pub fn encode(&self, identity: &Identity) -> Vec<u8> {
        let mut bytes = Vec::new();
        for text in [&identity.study, &identity.case, &identity.program, &identity.build] {
            put_text(&mut bytes, text);
        }
        bytes.extend(self.body());
        let sum = Sha256::digest(&bytes);
        [MAGIC, &[LAYOUT], &sum[..], &bytes].concat()
    }

    fn body(&self) -> Vec<u8> {
        let columns = [self.inputs.len() as u64, self.outputs.len() as u64];
        let mut bytes = Vec::with_capacity(64 + self.samples.len() * (1 + 8 * (columns[0] + columns[1]) as usize));
        for number in [self.number, self.first, self.samples.len() as u64, columns[0], columns[1]] {
            bytes.extend(number.to_le_bytes());
        }
        bytes.extend(self.part.index.to_le_bytes());
        bytes.extend(self.part.of.to_le_bytes());
        bytes.extend(self.samples.iter().map(|sample| sample.status as u8));
        for values in self.inputs.iter().chain(&self.outputs) {
            put_numbers(&mut bytes, values);
        }
        for sample in self.samples.iter().filter(|sample| sample.status != Status::Good) {
            put_text(&mut bytes, &sample.reason);
        }
        // Few samples are checked, and few studies keep fields: each with its place in the block.
        let placed = || (0_u64..).zip(&self.samples);
        let checks: Vec<_> = placed().filter_map(|(place, sample)| Some((place, sample.check?))).collect();
        bytes.extend((checks.len() as u64).to_le_bytes());
        for (place, check) in checks {
            // Infinite: the careful way found no solution.
            let error = if let Check::Error(error) = check { error } else { f64::INFINITY };
            bytes.extend(place.to_le_bytes());
            bytes.extend(error.to_le_bytes());
        }
        let kept: Vec<_> = placed().filter_map(|(place, sample)| Some((place, sample.fields.as_ref()?))).collect();
        bytes.extend((kept.len() as u64).to_le_bytes());
        for (place, fields) in kept {
            for number in [place, fields.points as u64, fields.nodes as u64, fields.values.len() as u64] {
                bytes.extend(number.to_le_bytes());
            }
            for values in &fields.values {
                bytes.extend((values.len() as u64).to_le_bytes());
                put_numbers(&mut bytes, values);
            }
        }
        bytes
    }

    /// A block from bytes.
    ///
    /// Errors: bytes that are damaged, a block of another study.
    pub fn decode(bytes: &[u8], identity: &Identity) -> Result<Block, BlockError> {
        let (layout, rest) = bytes.strip_prefix(MAGIC).and_then(<[u8]>::split_first).ok_or(BlockError::Damaged)?;
        match *layout {
            LAYOUT => {}
            b'0'..=b'9' => {
                let build = "quenchway of another version, whose blocks are laid out in another way".to_string();
                let found = Identity { program: String::new(), build, ..identity.clone() };
                return Err(BlockError::Foreign(Box::new(found)));
            }
            _ => return Err(BlockError::Damaged),
        }
        let (sum, rest) = rest.split_at_checked(SUM).ok_or(BlockError::Damaged)?;
        if Sha256::digest(rest)[..] != *sum {
            return Err(BlockError::Damaged);
        }
        let mut reader = Reader(rest);
        let mut text = || reader.text().ok_or(BlockError::Damaged);
        let found = Identity { study: text()?, case: text()?, program: text()?, build: text()? };
        if found != *identity {
            return Err(BlockError::Foreign(Box::new(found)));
        }
        reader.body().filter(|_| reader.0.is_empty()).ok_or(BlockError::Damaged)
    }
}

fn put_text(bytes: &mut Vec<u8>, text: &str) {
    bytes.extend((text.len() as u64).to_le_bytes());
    bytes.extend(text.as_bytes());
}

fn put_numbers(bytes: &mut Vec<u8>, values: &[f64]) {
    bytes.reserve(8 * values.len());
    values.iter().for_each(|value| bytes.extend_from_slice(&value.to_le_bytes()));
}

/// What is left to read.
struct Reader<'b>(&'b [u8]);

impl<'b> Reader<'b> {
    fn take(&mut self, count: usize) -> Option<&'b [u8]> {
        let (taken, rest) = self.0.split_at_checked(count)?;
        self.0 = rest;
        Some(taken)
    }

    fn whole(&mut self) -> Option<u64> {
        Some(u64::from_le_bytes(self.take(8)?.try_into().ok()?))
    }

    fn size(&mut self) -> Option<usize> {
        usize::try_from(self.whole()?).ok()
    }

    fn number(&mut self) -> Option<f64> {
        self.whole().map(f64::from_bits)
    }

    fn small(&mut self) -> Option<u32> {
        Some(u32::from_le_bytes(self.take(4)?.try_into().ok()?))
    }

    fn text(&mut self) -> Option<String> {
        let length = self.size()?;
        String::from_utf8(self.take(length)?.to_vec()).ok()
    }

    fn numbers(&mut self, count: usize) -> Option<Vec<f64>> {
        let bytes = self.take(count.checked_mul(8)?)?;
        Some(bytes.as_chunks::<8>().0.iter().map(|bytes| f64::from_le_bytes(*bytes)).collect())
    }

    fn body(&mut self) -> Option<Block> {
        let (number, first) = (self.whole()?, self.whole()?);
        let count = self.size()?;
        let (inputs, outputs) = (self.size()?, self.size()?);
        let part = Part { index: self.small()?, of: self.small()? };
        let statuses = self.take(count)?;
        let mut columns = |many| (0..many).map(|_| self.numbers(count)).collect::<Option<Vec<_>>>();
        let (inputs, outputs) = (columns(inputs)?, columns(outputs)?);
        let mut samples = Vec::with_capacity(count);
        for &status in statuses {
            let status = *Status::ALL.get(usize::from(status))?;
            let reason = if status == Status::Good { String::new() } else { self.text()? };
            samples.push(Sample { status, reason, check: None, fields: None });
        }
        for _ in 0..self.size()? {
            let sample = samples.get_mut(self.size()?)?;
            let error = self.number()?;
            sample.check = Some(if error.is_infinite() { Check::Failed } else { Check::Error(error) });
        }
        for _ in 0..self.size()? {
            let sample = samples.get_mut(self.size()?)?;
            let (points, nodes, many) = (self.size()?, self.size()?, self.size()?);
            let values = (0..many).map(|_| self.size().and_then(|length| self.numbers(length)));
            sample.fields = Some(FieldsOf { points, nodes, values: values.collect::<Option<_>>()? });
        }
        Some(Block { number, part, first, samples, inputs, outputs })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn identity() -> Identity {
        Identity { study: "s".into(), case: "c".into(), program: "1a".into(), build: "v 1".into() }
    }

    fn block() -> Block {
        let good =
            Sample { status: Status::Good, reason: String::new(), check: Some(Check::Error(1e-3)), fields: None };
        let bad = Sample { status: Status::NoSolution, reason: "the water boils".into(), check: None, fields: None };
        let fields = FieldsOf { points: 2, nodes: 1, values: vec![vec![0.0, 1.0], vec![5.0, 6.0]] };
        let failed = Sample { check: Some(Check::Failed), fields: Some(fields), ..good.clone() };
        Block {
            number: 7,
            part: Part { index: 3, of: 64 },
            first: 21,
            samples: vec![good, bad, failed],
            inputs: vec![vec![0.5, 1.5, 2.5]],
            outputs: vec![vec![1.0, f64::NAN, -0.0], vec![2.0, f64::NAN, 4.0]],
        }
    }

    #[test]
    fn a_block_comes_back_as_it_was() {
        let bytes = block().encode(&identity());
        let again = Block::decode(&bytes, &identity()).unwrap();
        assert_eq!((again.number, again.part, again.first), (7, Part { index: 3, of: 64 }, 21));
        assert_eq!((&again.samples, &again.inputs), (&block().samples, &block().inputs));
        assert_eq!(again.outputs[0][2].to_bits(), (-0.0_f64).to_bits());
        assert!(again.same(&block()) && again.same(&Block { part: Part::WHOLE, ..block() }));
        let mut other = block();
        other.outputs[0][2] = 0.0;
        assert!(!again.same(&other), "zeros of another sign are another content");
    }

    #[test]
    fn damage_anywhere_is_seen() {
        let bytes = block().encode(&identity());
        for place in 0..bytes.len() {
            let mut damaged = bytes.clone();
            damaged[place] ^= 0x10;
            assert_eq!(Block::decode(&damaged, &identity()).unwrap_err(), BlockError::Damaged, "byte {place}");
            assert_eq!(Block::decode(&bytes[..place], &identity()).unwrap_err(), BlockError::Damaged);
        }
    }

    #[test]
    fn a_block_of_another_study_is_known_as_such() {
        let bytes = block().encode(&identity());
        let told = |other: &Identity, bytes: &[u8]| match Block::decode(bytes, other).unwrap_err() {
            BlockError::Foreign(found) => other.difference(&found),
            BlockError::Damaged => panic!("the block is whole"),
        };
        let build = Identity { program: "2b".into(), build: "v 2".into(), ..identity() };
        assert_eq!(told(&build, &bytes), "made by another build, v 1; this is v 2");
        let study = Identity { study: "t".into(), ..identity() };
        assert!(told(&study, &bytes).starts_with("made from another study file's text: the study was edited since"));
        let case = Identity { case: "d".into(), ..identity() };
        assert!(told(&case, &bytes).starts_with("made from another base case: the case was edited since"));
        // A commit that changes no source makes the same program.
        let renamed = Identity { build: "v 1, the next commit".into(), ..identity() };
        assert!(Block::decode(&bytes, &renamed).is_ok());
        let mut earlier = bytes;
        earlier[MAGIC.len()] = b'1';
        assert!(told(&identity(), &earlier).contains("quenchway of another version"));
    }
}
