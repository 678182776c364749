#pragma once
/// A peak's shape and its derivatives at very many times, as a fit wants them: by the widest
/// vectors the processor has, with the same bits for every width
/// (docs/decisions/0070-eight-lanes-of-any-width.md).
#include <array>
#include <cstddef>
#include <span>

#include "trace/emg.hpp"

namespace gw::trace {

/// Times, and the weight of each in the fit.
struct EmgTimes {
    double const* t{};
    double const* weight{};
    std::size_t count{};
};

/// Adds the value at every time to model[i], and writes weight times the derivative with respect to
/// area, mu, the logarithm of sigma and that of tau to rows[0..3][i]. peak: sigma > 0, tau at least
/// 1e-3 sigma, area not 0. Right to 1e-13 of the largest value, where the tail is at least a
/// hundredth of sigma.
void add_emg_rows(Emg const& peak,
                  EmgTimes const& times,
                  double* model,
                  std::array<double*, 4> const& rows);

/// out[k]: the sum over i of row[i] others[k][i], in eight lanes.
void row_products(double const* row,
                  std::span<double const* const> others,
                  std::size_t count,
                  double* out);

}  // namespace gw::trace
