//! Eight numbers at once: what the lanes and the walks over a slice compute with, on AVX-512, on AVX2 with FMA, and on any
//! processor.
//!
//! Every operation is one that IEEE 754 fixes (sum, product, quotient, square root, fused multiply-add, comparison), so
//! that the three give the same bits. The wide ones are only ever called inside functions that `lanes` and `step` compile
//! for their instructions, after the processor was asked for them.

/// How cases are computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Path {
    /// In lanes, with AVX-512.
    Avx512,
    /// In lanes, with AVX2 and FMA.
    Avx2,
    /// In lanes, with plain instructions; slow where fused multiply-adds are not in hardware.
    Scalar,
    /// One at a time, by `march_by_rule`.
    Single,
}

impl Path {
    /// The word for reports.
    pub fn name(self) -> &'static str {
        match self {
            Path::Avx512 => "lanes, AVX-512",
            Path::Avx2 => "lanes, AVX2",
            Path::Scalar => "lanes, scalar",
            Path::Single => "single",
        }
    }

    /// Whether this processor has what the path needs.
    pub fn runs_here(self) -> bool {
        match self {
            #[cfg(target_arch = "x86_64")]
            Path::Avx512 => is_x86_feature_detected!("avx512f") && Path::Avx2.runs_here(),
            #[cfg(target_arch = "x86_64")]
            Path::Avx2 => is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma"),
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

/// Lanes of a vector: cases that march at once, on every path.
pub const LANES: usize = 8;

/// One number of each lane, in memory.
#[derive(Clone, Copy, Debug)]
#[repr(C, align(64))]
pub struct Row(pub [f64; LANES]);

impl Row {
    /// The same number in every lane.
    pub const fn all(value: f64) -> Row {
        Row([value; LANES])
    }
}

/// Eight lanes in registers.
pub trait Vector: Copy {
    /// A truth for each lane.
    type Mask: Copy;
    /// The way of computing whose instructions it takes.
    const PATH: Path;
    /// From memory.
    fn load(row: &Row) -> Self;
    /// To memory.
    fn store(self, row: &mut Row);
    /// Eight neighbours of a slice, the first at `at`.
    fn read(from: &[f64], at: usize) -> Self;
    /// To eight neighbours of a slice, the first at `at`.
    fn write(self, to: &mut [f64], at: usize);
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
    /// a b + c, rounded once.
    fn mul_add(self, b: Self, c: Self) -> Self;
    /// a b - c, rounded once.
    fn mul_sub(self, b: Self, c: Self) -> Self;
    /// c - a b, rounded once.
    fn mul_sub_from(self, b: Self, c: Self) -> Self;
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

/// Plain numbers: any processor; fused multiply-adds come from the C library where the hardware has none.
#[derive(Clone, Copy)]
pub struct Plain([f64; LANES]);

impl Plain {
    #[inline(always)]
    fn zip(self, b: Plain, f: impl Fn(f64, f64) -> f64) -> Plain {
        Plain(std::array::from_fn(|i| f(self.0[i], b.0[i])))
    }

    #[inline(always)]
    fn test(self, b: Plain, f: impl Fn(f64, f64) -> bool) -> u8 {
        (0..LANES).fold(0, |bits, i| bits | (u8::from(f(self.0[i], b.0[i])) << i))
    }
}

#[rustfmt::skip]
impl Vector for Plain {
    type Mask = u8;
    const PATH: Path = Path::Scalar;
    #[inline(always)] fn load(row: &Row) -> Plain { Plain(row.0) }
    #[inline(always)] fn store(self, row: &mut Row) { row.0 = self.0 }
    #[inline(always)] fn read(from: &[f64], at: usize) -> Plain {
        let from = &from[at..at + LANES];
        Plain(std::array::from_fn(|i| from[i]))
    }
    #[inline(always)] fn write(self, to: &mut [f64], at: usize) { to[at..at + LANES].copy_from_slice(&self.0) }
    #[inline(always)] fn all(value: f64) -> Plain { Plain([value; LANES]) }
    #[inline(always)] fn add(self, b: Plain) -> Plain { self.zip(b, |a, b| a + b) }
    #[inline(always)] fn sub(self, b: Plain) -> Plain { self.zip(b, |a, b| a - b) }
    #[inline(always)] fn mul(self, b: Plain) -> Plain { self.zip(b, |a, b| a * b) }
    #[inline(always)] fn div(self, b: Plain) -> Plain { self.zip(b, |a, b| a / b) }
    #[inline(always)] fn mul_add(self, b: Plain, c: Plain) -> Plain {
        Plain(std::array::from_fn(|i| self.0[i].mul_add(b.0[i], c.0[i])))
    }
    #[inline(always)] fn mul_sub(self, b: Plain, c: Plain) -> Plain {
        Plain(std::array::from_fn(|i| self.0[i].mul_add(b.0[i], -c.0[i])))
    }
    #[inline(always)] fn mul_sub_from(self, b: Plain, c: Plain) -> Plain {
        Plain(std::array::from_fn(|i| (-self.0[i]).mul_add(b.0[i], c.0[i])))
    }
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

#[cfg(target_arch = "x86_64")]
pub use wide::{Avx2, Avx512};

#[cfg(target_arch = "x86_64")]
mod wide {
    use super::{LANES, Path, Row, Vector};
    use std::arch::x86_64::*;

    /// One register of AVX-512.
    #[derive(Clone, Copy)]
    pub struct Avx512(__m512d);

    // SAFETY of every block: an `Avx512` exists only inside functions compiled for AVX-512 (see the head of the file); rows
    // are aligned to 64 bytes and hold eight numbers.
    #[rustfmt::skip]
    impl Vector for Avx512 {
        type Mask = __mmask8;
        const PATH: Path = Path::Avx512;
        #[inline(always)] fn load(row: &Row) -> Avx512 { Avx512(unsafe { _mm512_load_pd(row.0.as_ptr()) }) }
        #[inline(always)] fn store(self, row: &mut Row) { unsafe { _mm512_store_pd(row.0.as_mut_ptr(), self.0) } }
        #[inline(always)] fn read(from: &[f64], at: usize) -> Avx512 {
            Avx512(unsafe { _mm512_loadu_pd(from[at..at + LANES].as_ptr()) })
        }
        #[inline(always)] fn write(self, to: &mut [f64], at: usize) {
            unsafe { _mm512_storeu_pd(to[at..at + LANES].as_mut_ptr(), self.0) }
        }
        #[inline(always)] fn all(value: f64) -> Avx512 { Avx512(unsafe { _mm512_set1_pd(value) }) }
        #[inline(always)] fn add(self, b: Avx512) -> Avx512 { Avx512(unsafe { _mm512_add_pd(self.0, b.0) }) }
        #[inline(always)] fn sub(self, b: Avx512) -> Avx512 { Avx512(unsafe { _mm512_sub_pd(self.0, b.0) }) }
        #[inline(always)] fn mul(self, b: Avx512) -> Avx512 { Avx512(unsafe { _mm512_mul_pd(self.0, b.0) }) }
        #[inline(always)] fn div(self, b: Avx512) -> Avx512 { Avx512(unsafe { _mm512_div_pd(self.0, b.0) }) }
        #[inline(always)] fn mul_add(self, b: Avx512, c: Avx512) -> Avx512 {
            Avx512(unsafe { _mm512_fmadd_pd(self.0, b.0, c.0) })
        }
        #[inline(always)] fn mul_sub(self, b: Avx512, c: Avx512) -> Avx512 {
            Avx512(unsafe { _mm512_fmsub_pd(self.0, b.0, c.0) })
        }
        #[inline(always)] fn mul_sub_from(self, b: Avx512, c: Avx512) -> Avx512 {
            Avx512(unsafe { _mm512_fnmadd_pd(self.0, b.0, c.0) })
        }
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

    // SAFETY of every block: as above, for AVX2 and FMA.
    #[rustfmt::skip]
    impl Vector for Avx2 {
        type Mask = (__m256d, __m256d);
        const PATH: Path = Path::Avx2;
        #[inline(always)] fn load(row: &Row) -> Avx2 {
            let p = row.0.as_ptr();
            unsafe { Avx2(_mm256_load_pd(p), _mm256_load_pd(p.add(4))) }
        }
        #[inline(always)] fn store(self, row: &mut Row) {
            let p = row.0.as_mut_ptr();
            unsafe { _mm256_store_pd(p, self.0); _mm256_store_pd(p.add(4), self.1) }
        }
        #[inline(always)] fn read(from: &[f64], at: usize) -> Avx2 {
            let p = from[at..at + LANES].as_ptr();
            unsafe { Avx2(_mm256_loadu_pd(p), _mm256_loadu_pd(p.add(4))) }
        }
        #[inline(always)] fn write(self, to: &mut [f64], at: usize) {
            let p = to[at..at + LANES].as_mut_ptr();
            unsafe { _mm256_storeu_pd(p, self.0); _mm256_storeu_pd(p.add(4), self.1) }
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
        #[inline(always)] fn mul_add(self, b: Avx2, c: Avx2) -> Avx2 {
            unsafe { Avx2(_mm256_fmadd_pd(self.0, b.0, c.0), _mm256_fmadd_pd(self.1, b.1, c.1)) }
        }
        #[inline(always)] fn mul_sub(self, b: Avx2, c: Avx2) -> Avx2 {
            unsafe { Avx2(_mm256_fmsub_pd(self.0, b.0, c.0), _mm256_fmsub_pd(self.1, b.1, c.1)) }
        }
        #[inline(always)] fn mul_sub_from(self, b: Avx2, c: Avx2) -> Avx2 {
            unsafe { Avx2(_mm256_fnmadd_pd(self.0, b.0, c.0), _mm256_fnmadd_pd(self.1, b.1, c.1)) }
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
