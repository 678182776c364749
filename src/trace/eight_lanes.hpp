#pragma once
/// The one order in which eight lanes are added, whatever the processor's width. See
/// docs/decisions/0070-eight-lanes-of-any-width.md.

namespace gw::trace {

/// Lanes 0 + 4, 1 + 5 ..., then 0 + 2, 1 + 3, then the two.
template <class T>
inline T total_of(T const* lane) {
    T const a = lane[0] + lane[4], b = lane[1] + lane[5], c = lane[2] + lane[6],
            e = lane[3] + lane[7];
    return (a + c) + (b + e);
}

}  // namespace gw::trace
