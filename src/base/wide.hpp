#pragma once
/// GW_WIDE before a function whose loop is worth wide vectors: compiled twice, for AVX2 and for the
/// baseline, and chosen when the program starts. No sum is put in another order and nothing is
/// fused, so both give the same bits. Left out under sanitizers, which start after the choice.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define GW_WIDE __attribute__((target_clones("avx2", "default"), optimize("O3")))
#else
#define GW_WIDE
#endif
