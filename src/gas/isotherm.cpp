#include "gas/isotherm.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace gw::gas {

namespace {

constexpr int fraction_count = 40;
constexpr int lowest_whole = -16;
constexpr int whole_count = 49;
constexpr int highest_d = 9;

// tau^(1/40) to the power 0..39 and tau to the power -16..32: every tau^t is one product of two.
class TauPowers {
  public:
    explicit TauPowers(double tau) {
        fraction_[0] = 1.0;
        fraction_[1] = std::exp(std::log(tau) / fraction_count);
        for (std::size_t i = 2; i < fraction_count; ++i)  // by halves: short chains, small rounding
            fraction_[i] = fraction_[i / 2] * fraction_[i - i / 2];
        constexpr std::size_t zero = -lowest_whole;
        double const inverse = 1.0 / tau;
        whole_[zero] = 1.0;
        whole_[zero + 1] = tau;
        for (std::size_t i = 2; zero + i < whole_count; ++i)
            whole_[zero + i] = whole_[zero + i / 2] * whole_[zero + i - i / 2];
        whole_[zero - 1] = inverse;
        for (std::size_t i = 2; i <= zero; ++i)
            whole_[zero - i] = whole_[zero - i / 2] * whole_[zero - (i - i / 2)];
    }
    [[nodiscard]] double at(std::size_t whole, std::size_t fraction) const {
        return whole_[whole] * fraction_[fraction];
    }

  private:
    std::array<double, fraction_count> fraction_;
    std::array<double, whole_count> whole_;
};

using DeltaPowers = std::array<double, highest_d + 1>;
DeltaPowers powers_of(double delta) {
    DeltaPowers out;
    out[0] = 1.0;
    out[1] = delta;
    for (std::size_t d = 2; d <= highest_d; ++d) out[d] = out[d / 2] * out[d - d / 2];
    return out;
}

// A kernel at one density: its value, and w = -D ln K with the two further derivatives of w.
struct KernelAt {
    double value, w, Dw, DDw;
};
KernelAt kernel_at(Kernel const& k, double delta, DeltaPowers const& power) {
    if (k.decay == 0) return {1.0, 0.0, 0.0, 0.0};
    if (k.decay > 0) {
        double const q = power[static_cast<std::size_t>(k.decay)];
        double const c = k.decay;
        return {std::exp(-q), c * q, c * c * q, c * c * c * q};
    }
    double const off = delta - k.epsilon;
    double const square = 2.0 * k.eta * delta * delta;
    double const line = (k.beta - 2.0 * k.eta * k.epsilon) * delta;
    return {std::exp(-k.eta * off * off - k.beta * (delta - k.gamma)),
            square + line,
            2.0 * square + line,
            4.0 * square + line};
}

}  // namespace

std::size_t TermLayout::place(Kernel const& kernel, int d, double t) {
    auto const fortieths = static_cast<int>(std::lround(t * fraction_count));
    assert(std::abs(fortieths - t * fraction_count) < 1e-9 && d >= 1 && d <= highest_d);
    assert(fortieths >= lowest_whole * fraction_count &&
           fortieths < (lowest_whole + whole_count) * fraction_count);
    auto at = std::find(kernels_.begin(), kernels_.end(), kernel);
    if (at == kernels_.end()) at = kernels_.insert(kernels_.end(), kernel);
    auto const index = static_cast<std::uint8_t>(at - kernels_.begin());
    for (std::size_t i = 0; i < terms_.size(); ++i)
        if (terms_[i].kernel == index && terms_[i].d == d && terms_[i].fortieths == fortieths)
            return i;
    terms_.push_back({index, static_cast<std::uint8_t>(d), static_cast<std::int16_t>(fortieths)});
    return terms_.size() - 1;
}

MixtureTerms::MixtureTerms(TermLayout const& layout, std::span<double const> coefficients) {
    auto const terms = layout.terms();
    std::array<int, whole_count * fraction_count> power_place;
    power_place.fill(-1);
    for (std::size_t k = 0; k < layout.kernels().size(); ++k) {
        Polynomial polynomial{layout.kernels()[k], highest_d, 1, slots_};
        for (std::size_t i = 0; i < terms.size(); ++i)
            if (terms[i].kernel == k && coefficients[i] != 0.0) {
                polynomial.low = std::min<int>(polynomial.low, terms[i].d);
                polynomial.high = std::max<int>(polynomial.high, terms[i].d);
            }
        if (polynomial.low > polynomial.high) continue;
        for (std::size_t i = 0; i < terms.size(); ++i) {
            if (terms[i].kernel != k || coefficients[i] == 0.0) continue;
            int const shifted = terms[i].fortieths - lowest_whole * fraction_count;
            int& place = power_place[static_cast<std::size_t>(shifted)];
            if (place < 0) {
                place = static_cast<int>(powers_.size());
                powers_.push_back({static_cast<std::uint8_t>(shifted / fraction_count),
                                   static_cast<std::uint8_t>(shifted % fraction_count)});
            }
            terms_.push_back({coefficients[i],
                              terms[i].fortieths / static_cast<double>(fraction_count),
                              static_cast<std::uint16_t>(place),
                              static_cast<std::uint16_t>(slots_ + terms[i].d - polynomial.low)});
        }
        slots_ += static_cast<std::size_t>(polynomial.high - polynomial.low + 1);
        polynomials_.push_back(polynomial);
    }
    assert(slots_ <= most_slots && powers_.size() <= 128);
}

Isotherm::Isotherm(MixtureTerms const& terms, double tau) : terms_(&terms), tau_(tau) {
    TauPowers const powers(tau);
    std::array<double, 128> value;
    for (std::size_t i = 0; i < terms.powers_.size(); ++i)
        value[i] = powers.at(terms.powers_[i].whole, terms.powers_[i].fraction);
    std::fill_n(n_.begin(), terms.slots_, 0.0);
    for (auto const& term : terms.terms_) n_[term.slot] += term.n * value[term.power];
}

DensityDerivatives Isotherm::slopes_at(double delta) const {
    auto const power = powers_of(delta);
    DensityDerivatives out;
    for (auto const& polynomial : terms_->polynomials_) {
        double S0 = 0, S1 = 0, S2 = 0, S3 = 0;  // moments of d
        double const* n = n_.data() + polynomial.slot;
        for (int d = polynomial.low; d <= polynomial.high; ++d, ++n) {
            double const v = *n * power[static_cast<std::size_t>(d)];
            double const v1 = d * v, v2 = d * v1;
            S0 += v;
            S1 += v1;
            S2 += v2;
            S3 += d * v2;
        }
        auto const K = kernel_at(polynomial.kernel, delta, power);
        double const w = K.w, ww = w * w;
        out.A1 += K.value * (S1 - w * S0);
        out.A2 += K.value * (S2 - 2 * w * S1 + (ww - K.Dw) * S0);
        out.A3 += K.value *
                  (S3 - 3 * w * S2 + 3 * (ww - K.Dw) * S1 + (3 * w * K.Dw - ww * w - K.DDw) * S0);
    }
    return out;
}

DensityDerivatives Isotherm::at(double delta) const {
    auto out = slopes_at(delta);
    auto const power = powers_of(delta);
    for (auto const& polynomial : terms_->polynomials_) {
        double S0 = 0;
        double const* n = n_.data() + polynomial.slot;
        for (int d = polynomial.low; d <= polynomial.high; ++d, ++n)
            S0 += *n * power[static_cast<std::size_t>(d)];
        out.A0 += kernel_at(polynomial.kernel, delta, power).value * S0;
    }
    return out;
}

AllDerivatives Isotherm::all_at(double delta) const {
    AllDerivatives out{at(delta), 0, 0, 0};
    TauPowers const powers(tau_);
    MixtureTerms::Coefficients first, second;  // T and T^2 of the coefficients
    std::fill_n(first.begin(), terms_->slots_, 0.0);
    std::fill_n(second.begin(), terms_->slots_, 0.0);
    for (auto const& term : terms_->terms_) {
        auto const& p = terms_->powers_[term.power];
        double const v = term.t * term.n * powers.at(p.whole, p.fraction);
        first[term.slot] += v;
        second[term.slot] += term.t * v;
    }
    auto const power = powers_of(delta);
    for (auto const& polynomial : terms_->polynomials_) {
        auto const K = kernel_at(polynomial.kernel, delta, power);
        double T1 = 0, T1_d = 0, T2 = 0;
        for (int d = polynomial.low; d <= polynomial.high; ++d) {
            auto const slot = polynomial.slot + static_cast<std::size_t>(d - polynomial.low);
            double const v = first[slot] * power[static_cast<std::size_t>(d)];
            T1 += v;
            T1_d += d * v;
            T2 += second[slot] * power[static_cast<std::size_t>(d)];
        }
        out.T1 += K.value * T1;
        out.T2 += K.value * T2;
        out.T1D1 += K.value * (T1_d - K.w * T1);
    }
    return out;
}

}  // namespace gw::gas
