//! One number of each case that marches: rows in memory, and vectors of them in registers, of one case or of eight, on
//! AVX-512, on AVX2, and on any processor.
//!
//! Every operation is one that IEEE 754 fixes (sum, product, quotient, square root, comparison), a product and a sum are
//! rounded apart, and lanes never mix: so all of them give the same bits. The wide ones are only ever called inside functions
//! that `engine` compiles for their instructions, after the processor was asked for them.

use std::fmt::Debug;
use std::ops::IndexMut;

/// How cases are computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Path {
    /// Eight at a time, with AVX-512.
    Avx512,
    /// Eight at a time, with AVX2.
    Avx2,
    /// Eight at a time, with plain instructions.
    Scalar,
    /// One at a time.
    Single,
}

impl Path {
    /// The word for reports.
    pub fn name(self) -> &'static str {
        match self {
            Path::Avx512 => "eight at a time with AVX-512",
            Path::Avx2 => "eight at a time with AVX2",
            Path::Scalar => "eight at a time",
            Path::Single => "one at a time",
        }
    }

    /// Whether this processor has what the path needs.
    pub fn runs_here(self) -> bool {
        match self {
            #[cfg(target_arch = "x86_64")]
            Path::Avx512 => is_x86_feature_detected!("avx512f") && Path::Avx2.runs_here(),
            #[cfg(target_arch = "x86_64")]
            Path::Avx2 => is_x86_feature_detected!("avx2"),
            #[cfg(not(target_arch = "x86_64"))]
            Path::Avx512 | Path::Avx2 => false,
            Path::Scalar | Path::Single => true,
        }
    }

    /// The fastest of the lanes that this processor has.
    pub fn best() -> Path {
        [Path::Avx512, Path::Avx2].into_iter().find(|path| path.runs_here()).unwrap_or(Path::Scalar)
    }
}

/// The instructions that a bundle of cases is computed with: they are here, for nobody else makes one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Instructions(Set);

/// A set of instructions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Set {
    /// AVX-512.
    #[cfg(target_arch = "x86_64")]
    Avx512,
    /// AVX2.
    #[cfg(target_arch = "x86_64")]
    Avx2,
    /// What every processor has.
    Plain,
}

impl Instructions {
    /// Those of a path where this processor has them, otherwise the best that it has; one case alone takes AVX2.
    pub fn of(path: Path) -> Instructions {
        #[cfg(target_arch = "x86_64")]
        {
            let wanted = match path {
                Path::Avx512 => Set::Avx512,
                Path::Avx2 | Path::Single => Set::Avx2,
                Path::Scalar => return Instructions(Set::Plain),
            };
            let has = |set: Set| (if set == Set::Avx512 { Path::Avx512 } else { Path::Avx2 }).runs_here();
            Instructions([wanted, Set::Avx2].into_iter().find(|&set| has(set)).unwrap_or(Set::Plain))
        }
        #[cfg(not(target_arch = "x86_64"))]
        {
            let _ = path;
            Instructions(Set::Plain)
        }
    }

    /// Which they are.
    #[inline(always)]
    pub fn set(self) -> Set {
        self.0
    }
}

/// One number of each lane, in memory.
pub trait Row: Copy + Debug + IndexMut<usize, Output = f64> + 'static {
    /// How many lanes.
    const LANES: usize;
    /// A place in a list of each lane.
    type Indices: Copy + Debug + Default + IndexMut<usize, Output = usize>;
    /// Its vector with AVX-512.
    type Avx512: Vector<Row = Self>;
    /// Its vector with AVX2.
    type Avx2: Vector<Row = Self>;
    /// Its vector on any processor.
    type Plain: Vector<Row = Self>;
    /// The same number in every lane.
    fn all(value: f64) -> Self;
    /// Its numbers.
    fn numbers(&self) -> &[f64];
    /// See `numbers`.
    fn numbers_mut(&mut self) -> &mut [f64];
}

/// Eight lanes: cases that march side by side.
#[cfg(not(target_family = "wasm"))]
#[derive(Clone, Copy, Debug)]
#[repr(C, align(64))]
pub struct Eight(pub [f64; 8]);

/// One lane: a case that marches alone.
#[derive(Clone, Copy, Debug)]
#[repr(transparent)]
pub struct One(pub [f64; 1]);

/// The lanes of cases that march side by side. A browser loads the engine with a page: there it is half as large with one.
#[cfg(not(target_family = "wasm"))]
pub type Abreast = Eight;
/// See above.
#[cfg(target_family = "wasm")]
pub type Abreast = One;

macro_rules! row {
    ($name:ident, $lanes:literal, $avx512:ty, $avx2:ty, $plain:ty) => {
        impl std::ops::Index<usize> for $name {
            type Output = f64;
            #[inline(always)]
            fn index(&self, lane: usize) -> &f64 {
                &self.0[lane]
            }
        }
        impl IndexMut<usize> for $name {
            #[inline(always)]
            fn index_mut(&mut self, lane: usize) -> &mut f64 {
                &mut self.0[lane]
            }
        }
        impl Row for $name {
            const LANES: usize = $lanes;
            type Indices = [usize; $lanes];
            type Avx512 = $avx512;
            type Avx2 = $avx2;
            type Plain = $plain;
            #[inline(always)]
            fn all(value: f64) -> Self {
                $name([value; $lanes])
            }
            #[inline(always)]
            fn numbers(&self) -> &[f64] {
                &self.0
            }
            #[inline(always)]
            fn numbers_mut(&mut self) -> &mut [f64] {
                &mut self.0
            }
        }
    };
}
#[cfg(target_arch = "x86_64")]
row!(Eight, 8, wide::Avx512, wide::Avx2, Plain);
#[cfg(not(any(target_arch = "x86_64", target_family = "wasm")))]
row!(Eight, 8, Plain, Plain, Plain);
row!(One, 1, f64, f64, f64);

/// The lanes of a row in registers.
pub trait Vector: Copy {
    /// A truth for each lane.
    type Mask: Copy;
    /// Its place in memory.
    type Row: Row;
    /// From memory.
    fn load(row: &Self::Row) -> Self;
    /// To memory.
    fn store(self, row: &mut Self::Row);
    /// The same number in every lane.
    fn all(value: f64) -> Self;
    /// a + b.
    fn add(self, b: Self) -> Self;
    /// a - b.
    fn sub(self, b: Self) -> Self;
    /// a b.
    fn mul(self, b: Self) -> Self;
    /// a / b.
    fn div(self, b: Self) -> Self;
    /// a b + c, each rounded.
    #[inline(always)]
    fn mul_add(self, b: Self, c: Self) -> Self {
        self.mul(b).add(c)
    }
    /// a b - c, each rounded.
    #[inline(always)]
    fn mul_sub(self, b: Self, c: Self) -> Self {
        self.mul(b).sub(c)
    }
    /// c - a b, each rounded.
    #[inline(always)]
    fn mul_sub_from(self, b: Self, c: Self) -> Self {
        c.sub(self.mul(b))
    }
    /// Square root.
    fn sqrt(self) -> Self;
    /// a where a > b, else b (b where either is no number).
    fn max(self, b: Self) -> Self;
    /// a where a < b, else b (b where either is no number).
    fn min(self, b: Self) -> Self;
    /// |a|.
    fn abs(self) -> Self;
    /// a < b.
    fn less(self, b: Self) -> Self::Mask;
    /// Lanes, lane i in bit i, where low <= a < high.
    fn within(self, low: Self, high: Self) -> u8;
    /// a where the mask holds, else b.
    fn select(mask: Self::Mask, a: Self, b: Self) -> Self;
}

/// Eight plain numbers: any processor.
#[cfg(not(target_family = "wasm"))]
#[derive(Clone, Copy)]
pub struct Plain([f64; 8]);

#[cfg(not(target_family = "wasm"))]
impl Plain {
    #[inline(always)]
    fn zip(self, b: Plain, f: impl Fn(f64, f64) -> f64) -> Plain {
        Plain(std::array::from_fn(|i| f(self.0[i], b.0[i])))
    }

    #[inline(always)]
    fn test(self, b: Plain, f: impl Fn(f64, f64) -> bool) -> u8 {
        (0..8).fold(0, |bits, i| bits | (u8::from(f(self.0[i], b.0[i])) << i))
    }
}

#[cfg(not(target_family = "wasm"))]
#[rustfmt::skip]
impl Vector for Plain {
    type Mask = u8;
    type Row = Eight;
    #[inline(always)] fn load(row: &Eight) -> Plain { Plain(row.0) }
    #[inline(always)] fn store(self, row: &mut Eight) { row.0 = self.0 }
    #[inline(always)] fn all(value: f64) -> Plain { Plain([value; 8]) }
    #[inline(always)] fn add(self, b: Plain) -> Plain { self.zip(b, |a, b| a + b) }
    #[inline(always)] fn sub(self, b: Plain) -> Plain { self.zip(b, |a, b| a - b) }
    #[inline(always)] fn mul(self, b: Plain) -> Plain { self.zip(b, |a, b| a * b) }
    #[inline(always)] fn div(self, b: Plain) -> Plain { self.zip(b, |a, b| a / b) }
    #[inline(always)] fn sqrt(self) -> Plain { Plain(self.0.map(f64::sqrt)) }
    #[inline(always)] fn max(self, b: Plain) -> Plain { self.zip(b, |a, b| if a > b { a } else { b }) }
    #[inline(always)] fn min(self, b: Plain) -> Plain { self.zip(b, |a, b| if a < b { a } else { b }) }
    #[inline(always)] fn abs(self) -> Plain { Plain(self.0.map(f64::abs)) }
    #[inline(always)] fn less(self, b: Plain) -> u8 { self.test(b, |a, b| a < b) }
    #[inline(always)] fn within(self, low: Plain, high: Plain) -> u8 {
        low.test(self, |a, b| a <= b) & self.test(high, |a, b| a < b)
    }
    #[inline(always)] fn select(mask: u8, a: Plain, b: Plain) -> Plain {
        Plain(std::array::from_fn(|i| if mask >> i & 1 == 1 { a.0[i] } else { b.0[i] }))
    }
}

// One number: the same code on every path, without closures, which functions for an instruction set do not take in.
#[rustfmt::skip]
impl Vector for f64 {
    type Mask = bool;
    type Row = One;
    #[inline(always)] fn load(row: &One) -> f64 { row.0[0] }
    #[inline(always)] fn store(self, row: &mut One) { row.0[0] = self }
    #[inline(always)] fn all(value: f64) -> f64 { value }
    #[inline(always)] fn add(self, b: f64) -> f64 { self + b }
    #[inline(always)] fn sub(self, b: f64) -> f64 { self - b }
    #[inline(always)] fn mul(self, b: f64) -> f64 { self * b }
    #[inline(always)] fn div(self, b: f64) -> f64 { self / b }
    #[inline(always)] fn sqrt(self) -> f64 { f64::sqrt(self) }
    #[inline(always)] fn max(self, b: f64) -> f64 { if self > b { self } else { b } }
    #[inline(always)] fn min(self, b: f64) -> f64 { if self < b { self } else { b } }
    #[inline(always)] fn abs(self) -> f64 { f64::abs(self) }
    #[inline(always)] fn less(self, b: f64) -> bool { self < b }
    #[inline(always)] fn within(self, low: f64, high: f64) -> u8 { u8::from(low <= self) & u8::from(self < high) }
    #[inline(always)] fn select(mask: bool, a: f64, b: f64) -> f64 { if mask { a } else { b } }
}

#[cfg(target_arch = "x86_64")]
mod wide {
    use super::{Eight, Vector};
    use std::arch::x86_64::*;

    /// One register of AVX-512.
    #[derive(Clone, Copy)]
    pub struct Avx512(__m512d);

    // SAFETY of every block: an `Avx512` exists only inside functions compiled for AVX-512 (see the head of the file); rows
    // are aligned to 64 bytes and hold eight numbers.
    #[rustfmt::skip]
    impl Vector for Avx512 {
        type Mask = __mmask8;
        type Row = Eight;
        #[inline(always)] fn load(row: &Eight) -> Avx512 { Avx512(unsafe { _mm512_load_pd(row.0.as_ptr()) }) }
        #[inline(always)] fn store(self, row: &mut Eight) { unsafe { _mm512_store_pd(row.0.as_mut_ptr(), self.0) } }
        #[inline(always)] fn all(value: f64) -> Avx512 { Avx512(unsafe { _mm512_set1_pd(value) }) }
        #[inline(always)] fn add(self, b: Avx512) -> Avx512 { Avx512(unsafe { _mm512_add_pd(self.0, b.0) }) }
        #[inline(always)] fn sub(self, b: Avx512) -> Avx512 { Avx512(unsafe { _mm512_sub_pd(self.0, b.0) }) }
        #[inline(always)] fn mul(self, b: Avx512) -> Avx512 { Avx512(unsafe { _mm512_mul_pd(self.0, b.0) }) }
        #[inline(always)] fn div(self, b: Avx512) -> Avx512 { Avx512(unsafe { _mm512_div_pd(self.0, b.0) }) }
        #[inline(always)] fn sqrt(self) -> Avx512 { Avx512(unsafe { _mm512_sqrt_pd(self.0) }) }
        #[inline(always)] fn max(self, b: Avx512) -> Avx512 { Avx512(unsafe { _mm512_max_pd(self.0, b.0) }) }
        #[inline(always)] fn min(self, b: Avx512) -> Avx512 { Avx512(unsafe { _mm512_min_pd(self.0, b.0) }) }
        #[inline(always)] fn abs(self) -> Avx512 { Avx512(unsafe { _mm512_abs_pd(self.0) }) }
        #[inline(always)] fn less(self, b: Avx512) -> __mmask8 {
            unsafe { _mm512_cmp_pd_mask::<_CMP_LT_OQ>(self.0, b.0) }
        }
        #[inline(always)] fn within(self, low: Avx512, high: Avx512) -> u8 {
            unsafe {
                let above = _mm512_cmp_pd_mask::<_CMP_LE_OQ>(low.0, self.0);
                _mm512_mask_cmp_pd_mask::<_CMP_LT_OQ>(above, self.0, high.0)
            }
        }
        #[inline(always)] fn select(mask: __mmask8, a: Avx512, b: Avx512) -> Avx512 {
            Avx512(unsafe { _mm512_mask_blend_pd(mask, b.0, a.0) })
        }
    }

    /// Two registers of AVX2.
    #[derive(Clone, Copy)]
    pub struct Avx2(__m256d, __m256d);

    // SAFETY of every block: as above, for AVX2.
    #[rustfmt::skip]
    impl Vector for Avx2 {
        type Mask = (__m256d, __m256d);
        type Row = Eight;
        #[inline(always)] fn load(row: &Eight) -> Avx2 {
            let p = row.0.as_ptr();
            unsafe { Avx2(_mm256_load_pd(p), _mm256_load_pd(p.add(4))) }
        }
        #[inline(always)] fn store(self, row: &mut Eight) {
            let p = row.0.as_mut_ptr();
            unsafe { _mm256_store_pd(p, self.0); _mm256_store_pd(p.add(4), self.1) }
        }
        #[inline(always)] fn all(value: f64) -> Avx2 { unsafe { Avx2(_mm256_set1_pd(value), _mm256_set1_pd(value)) } }
        #[inline(always)] fn add(self, b: Avx2) -> Avx2 {
            unsafe { Avx2(_mm256_add_pd(self.0, b.0), _mm256_add_pd(self.1, b.1)) }
        }
        #[inline(always)] fn sub(self, b: Avx2) -> Avx2 {
            unsafe { Avx2(_mm256_sub_pd(self.0, b.0), _mm256_sub_pd(self.1, b.1)) }
        }
        #[inline(always)] fn mul(self, b: Avx2) -> Avx2 {
            unsafe { Avx2(_mm256_mul_pd(self.0, b.0), _mm256_mul_pd(self.1, b.1)) }
        }
        #[inline(always)] fn div(self, b: Avx2) -> Avx2 {
            unsafe { Avx2(_mm256_div_pd(self.0, b.0), _mm256_div_pd(self.1, b.1)) }
        }
        #[inline(always)] fn sqrt(self) -> Avx2 { unsafe { Avx2(_mm256_sqrt_pd(self.0), _mm256_sqrt_pd(self.1)) } }
        #[inline(always)] fn max(self, b: Avx2) -> Avx2 {
            unsafe { Avx2(_mm256_max_pd(self.0, b.0), _mm256_max_pd(self.1, b.1)) }
        }
        #[inline(always)] fn min(self, b: Avx2) -> Avx2 {
            unsafe { Avx2(_mm256_min_pd(self.0, b.0), _mm256_min_pd(self.1, b.1)) }
        }
        #[inline(always)] fn abs(self) -> Avx2 {
            unsafe {
                let sign = _mm256_set1_pd(-0.0);
                Avx2(_mm256_andnot_pd(sign, self.0), _mm256_andnot_pd(sign, self.1))
            }
        }
        #[inline(always)] fn less(self, b: Avx2) -> (__m256d, __m256d) {
            unsafe { (_mm256_cmp_pd::<_CMP_LT_OQ>(self.0, b.0), _mm256_cmp_pd::<_CMP_LT_OQ>(self.1, b.1)) }
        }
        #[inline(always)] fn within(self, low: Avx2, high: Avx2) -> u8 {
            unsafe {
                let a = _mm256_and_pd(
                    _mm256_cmp_pd::<_CMP_LE_OQ>(low.0, self.0),
                    _mm256_cmp_pd::<_CMP_LT_OQ>(self.0, high.0),
                );
                let b = _mm256_and_pd(
                    _mm256_cmp_pd::<_CMP_LE_OQ>(low.1, self.1),
                    _mm256_cmp_pd::<_CMP_LT_OQ>(self.1, high.1),
                );
                (_mm256_movemask_pd(a) | (_mm256_movemask_pd(b) << 4)) as u8
            }
        }
        #[inline(always)] fn select(mask: (__m256d, __m256d), a: Avx2, b: Avx2) -> Avx2 {
            unsafe { Avx2(_mm256_blendv_pd(b.0, a.0, mask.0), _mm256_blendv_pd(b.1, a.1, mask.1)) }
        }
    }
}
