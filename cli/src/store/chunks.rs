//! Variables that grow piece after piece, in the order of their places: cut into chunks, which a press compresses and HDF5
//! takes as they are.

use std::thread;

use hdf5::Dataset;
use hdf5_metno as hdf5;
use hdf5_metno_sys as sys;
use quenchway_press::{Chunk, Press};

/// The variables of a file that grow.
pub(super) struct Chunks {
    variables: Vec<Growing>,
    press: Press,
}

/// A variable in chunks of consecutive places: of one dimension so many steps, all of those after it, one of those before it.
struct Growing {
    dataset: Dataset,
    shape: Vec<usize>,
    chunk: Vec<usize>,
    /// The dimension along which the places are cut.
    along: usize,
    /// Places of one step along it.
    row: usize,
    /// The bytes of a value that is never written.
    fill: Vec<u8>,
    /// The place where the next chunk begins.
    at: usize,
    /// The bytes from there on.
    waiting: Vec<u8>,
}

impl Chunks {
    /// No variables yet.
    pub fn new() -> hdf5::Result<Chunks> {
        let threads = thread::available_parallelism().map_or(1, usize::from);
        let press = Press::new(threads).map_err(|error| hdf5::Error::from(error.to_string()))?;
        Ok(Chunks { variables: Vec::new(), press })
    }

    /// Adds a variable that is chunked, shuffled and deflated, and whose values have the bytes of `fill` where there is none;
    /// the number that it has here.
    pub fn add(&mut self, dataset: Dataset, fill: &[u8]) -> hdf5::Result<usize> {
        let shape = dataset.shape();
        let chunk = dataset.chunk().filter(|chunk| chunk.len() == shape.len() && !shape.is_empty());
        let chunk = chunk.ok_or_else(|| hdf5::Error::from(format!("{} has no chunks", dataset.name())))?;
        let along = chunk.iter().position(|steps| *steps > 1).unwrap_or(shape.len() - 1);
        let row = shape[along + 1..].iter().product();
        self.variables.push(Growing {
            dataset,
            shape,
            chunk,
            along,
            row,
            fill: fill.to_vec(),
            at: 0,
            waiting: Vec::new(),
        });
        Ok(self.variables.len() - 1)
    }

    /// The next values of a variable, in the machine's byte order.
    pub fn push(&mut self, variable: usize, values: &[u8]) -> hdf5::Result<()> {
        let growing = &mut self.variables[variable];
        growing.waiting.extend_from_slice(values);
        while let Some(chunk) = self.variables[variable].cut(variable) {
            if let Some(earlier) = self.press.give(chunk)? {
                self.write(&earlier)?;
            }
        }
        Ok(())
    }

    /// Writes what is still on its way.
    ///
    /// Errors: a variable that did not get all of its values.
    pub fn finish(mut self) -> hdf5::Result<()> {
        while let Some(chunk) = self.press.take()? {
            self.write(&chunk)?;
        }
        let unfinished = self.variables.iter().find(|growing| growing.at < growing.shape.iter().product());
        match unfinished {
            Some(growing) => Err(format!("{} did not get all of its values", growing.dataset.name()).into()),
            None => Ok(()),
        }
    }

    fn write(&self, chunk: &Chunk) -> hdf5::Result<()> {
        let dataset = &self.variables[chunk.variable].dataset;
        let written = hdf5::sync::sync(|| {
            // SAFETY: under the library's lock; the offset has a number for every dimension and both slices outlive the call,
            // which reads as many bytes as it is told; HDF5 checks identifier and offset and answers with an error.
            unsafe {
                sys::h5d::H5Dwrite_chunk(
                    dataset.id(),
                    sys::h5p::H5P_DEFAULT,
                    0,
                    chunk.offset.as_ptr(),
                    chunk.bytes.len(),
                    chunk.bytes.as_ptr().cast(),
                )
            }
        });
        hdf5::h5check(written).map(drop)
    }
}

impl Growing {
    /// The next chunk, as soon as all of its values are there; what lies beyond the variable's end is filled up.
    fn cut(&mut self, variable: usize) -> Option<Chunk> {
        let size: usize = self.shape.iter().product();
        let width = self.fill.len();
        let index = (self.at / self.row.max(1)) % self.shape[self.along].max(1);
        let steps = self.chunk[self.along].min(self.shape[self.along] - index);
        let bytes = steps * self.row * width;
        if self.at >= size || self.waiting.len() < bytes {
            return None;
        }
        let mut values: Vec<u8> = self.waiting.drain(..bytes).collect();
        let missing = (self.chunk[self.along] - steps) * self.row;
        (0..missing).for_each(|_| values.extend_from_slice(&self.fill));
        let mut offset = vec![0; self.shape.len()];
        let mut rest = self.at / self.row;
        for axis in (0..=self.along).rev() {
            offset[axis] = (rest % self.shape[axis]) as u64;
            rest /= self.shape[axis];
        }
        self.at += steps * self.row;
        Some(Chunk { variable, offset, width, bytes: values })
    }
}
