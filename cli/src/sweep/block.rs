//! A block of finished samples as bytes: what makes it this study's, its numbers, and a checksum over all of it.

use quenchway::study::sweep::{Check, FieldsOf, Sample, Status};
use sha2::{Digest, Sha256};

use super::{Identity, Part};

/// What a block file begins with; the last digit is the layout's version.
const MAGIC: &[u8; 16] = b"quenchway-block1";
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
    /// Output by output, the samples one after the other: not a number where there is none.
    pub outputs: Vec<Vec<f64>>,
}

/// Why bytes are no block of a study.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BlockError {
    /// Not what this program wrote, or not whole.
    Damaged,
    /// A block of another study, base case or version.
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
        for text in [&identity.study, &identity.case, &identity.version] {
            put_text(&mut bytes, text);
        }
        bytes.extend(self.body());
        let sum = Sha256::digest(&bytes);
        [&MAGIC[..], &sum[..], &bytes].concat()
    }

    fn body(&self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(64 + self.samples.len() * (1 + 8 * self.outputs.len()));
        for number in [self.number, self.first, self.samples.len() as u64, self.outputs.len() as u64] {
            bytes.extend(number.to_le_bytes());
        }
        bytes.extend(self.part.index.to_le_bytes());
        bytes.extend(self.part.of.to_le_bytes());
        bytes.extend(self.samples.iter().map(|sample| sample.status as u8));
        for values in &self.outputs {
            bytes.extend(values.iter().flat_map(|value| value.to_bits().to_le_bytes()));
        }
        for sample in self.samples.iter().filter(|sample| sample.status != Status::Good) {
            put_text(&mut bytes, &sample.reason);
        }
        for sample in &self.samples {
            // Not a number: not checked; infinite: the careful way found no solution.
            let check = match sample.check {
                None => f64::NAN,
                Some(Check::Failed) => f64::INFINITY,
                Some(Check::Error(error)) => error,
            };
            bytes.extend(check.to_bits().to_le_bytes());
        }
        for sample in &self.samples {
            let Some(fields) = &sample.fields else {
                bytes.extend(0_u64.to_le_bytes());
                continue;
            };
            bytes.extend((fields.values.len() as u64).to_le_bytes());
            for number in [fields.points, fields.nodes] {
                bytes.extend((number as u64).to_le_bytes());
            }
            for values in &fields.values {
                bytes.extend((values.len() as u64).to_le_bytes());
                bytes.extend(values.iter().flat_map(|value| value.to_bits().to_le_bytes()));
            }
        }
        bytes
    }

    /// A block from bytes.
    ///
    /// Errors: bytes that are damaged, a block of another study.
    pub fn decode(bytes: &[u8], identity: &Identity) -> Result<Block, BlockError> {
        let rest = bytes.strip_prefix(MAGIC).ok_or(BlockError::Damaged)?;
        let (sum, rest) = rest.split_at_checked(SUM).ok_or(BlockError::Damaged)?;
        if Sha256::digest(rest)[..] != *sum {
            return Err(BlockError::Damaged);
        }
        let mut reader = Reader(rest);
        let mut text = || reader.text().ok_or(BlockError::Damaged);
        let found = Identity { study: text()?, case: text()?, version: text()? };
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
        let numbers =
            bytes.chunks_exact(8).map(|bytes| Some(f64::from_bits(u64::from_le_bytes(bytes.try_into().ok()?))));
        numbers.collect()
    }

    fn body(&mut self) -> Option<Block> {
        let (number, first) = (self.whole()?, self.whole()?);
        let (count, columns) = (self.size()?, self.size()?);
        let part = Part { index: self.small()?, of: self.small()? };
        let statuses = self.take(count)?;
        let outputs = (0..columns).map(|_| self.numbers(count)).collect::<Option<Vec<_>>>()?;
        let mut samples = Vec::with_capacity(count);
        for &status in statuses {
            let status = *Status::ALL.get(usize::from(status))?;
            let reason = if status == Status::Good { String::new() } else { self.text()? };
            samples.push(Sample { status, reason, check: None, fields: None });
        }
        for sample in &mut samples {
            let check = self.number()?;
            sample.check = match check {
                _ if check.is_nan() => None,
                _ if check.is_infinite() => Some(Check::Failed),
                _ => Some(Check::Error(check)),
            };
        }
        for sample in &mut samples {
            let count = self.size()?;
            if count > 0 {
                let (points, nodes) = (self.size()?, self.size()?);
                let mut values = Vec::new();
                for _ in 0..count {
                    let length = self.size()?;
                    values.push(self.numbers(length)?);
                }
                sample.fields = Some(FieldsOf { points, nodes, values });
            }
        }
        Some(Block { number, part, first, samples, outputs })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn identity() -> Identity {
        Identity { study: "s".into(), case: "c".into(), version: "v 1".into() }
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
            outputs: vec![vec![1.0, f64::NAN, -0.0], vec![2.0, f64::NAN, 4.0]],
        }
    }

    #[test]
    fn a_block_comes_back_as_it_was() {
        let bytes = block().encode(&identity());
        let again = Block::decode(&bytes, &identity()).unwrap();
        assert_eq!((again.number, again.part, again.first), (7, Part { index: 3, of: 64 }, 21));
        assert_eq!(again.samples, block().samples);
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
        let other = Identity { version: "v 2".into(), ..identity() };
        let BlockError::Foreign(found) = Block::decode(&bytes, &other).unwrap_err() else { panic!() };
        assert_eq!(other.difference(&found), "made by v 1, this is v 2");
    }
}
