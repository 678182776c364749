// Many random gases and states: the density search never hangs, and what it returns is the root
// that a plain walk along the whole isotherm finds. Fixed seeds: the same states every time.
#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "gas/equation_of_state.hpp"

namespace gw::gas {
namespace {

class Draw {  // splitmix64 (S. Vigna, public domain): one number a call, no state but a counter
  public:
    explicit Draw(std::uint64_t seed) : state_(seed) {}
    double unit() {
        std::uint64_t z = (state_ += 0x9e3779b97f4a7c15U);
        z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9U;
        z = (z ^ (z >> 27U)) * 0x94d049bb133111ebU;
        return static_cast<double>((z ^ (z >> 31U)) >> 11U) * 0x1p-53;
    }
    double between(double low, double high) { return low + (high - low) * unit(); }

  private:
    std::uint64_t state_;
};

char const* const names[] = {
    "methane",          "nitrogen",   "carbon dioxide", "ethane",   "propane",         "isobutane",
    "n-butane",         "isopentane", "n-pentane",      "n-hexane", "n-heptane",       "n-octane",
    "n-nonane",         "n-decane",   "hydrogen",       "oxygen",   "carbon monoxide", "water",
    "hydrogen sulfide", "helium",     "argon"};

// A third pure or nearly so, a third any mixture, a third led by methane.
Composition drawn_gas(Draw& draw) {
    Composition gas;
    double sum = 0;
    int const kind = static_cast<int>(draw.between(0, 3));
    double const presence = kind == 0 ? 0.08 : 0.5;
    for (auto const* name : names) {
        double const x = draw.unit() < presence ? std::pow(draw.unit(), 3) : 0.0;
        gas.components.push_back(*find_component(name));
        gas.x.push_back(x);
        sum += x;
    }
    if (kind == 2 || sum == 0) {
        gas.x[0] += 6;
        sum += 6;
    }
    for (double& x : gas.x) x /= sum;
    return gas;
}

// Every rising crossing of the pressure, on a grid fine enough for every loop these equations have;
// gas: the first, when the pressure rises all the way to it.
struct Walk {
    std::vector<double> roots;  // delta
    bool gas = false;
};
Walk walk(WideRangeMixture const& mixture, double T, double kpa) {
    Isotherm const isotherm(mixture.terms, mixture.reducing_temperature / T);
    double const target = kpa / (mixture.reducing_density * mixture.R * T);
    auto const off = [&](double d) { return d * (1 + isotherm.slopes_at(d).A1) - target; };
    Walk out;
    bool rising_so_far = true;
    double before = 0, off_before = -target;
    for (double d = std::min(1e-7, 0.1 * target); before < 4.0;
         d = std::min(4.0, d < 0.25 ? d * 1.05 : d + 0.01)) {
        double const here = off(d);
        if (off_before < 0 && here >= 0) {
            double low = before, high = d;
            for (int i = 0; i < 100 && high - low > 1e-15 * high; ++i) {
                double const middle = 0.5 * (low + high);
                (off(middle) < 0 ? low : high) = middle;
            }
            out.roots.push_back(0.5 * (low + high));
            if (out.roots.size() == 1) out.gas = rising_so_far;
        }
        rising_so_far = rising_so_far && here > off_before;
        before = d;
        off_before = here;
    }
    return out;
}

double gibbs(WideRangeMixture const& mixture, double T, double delta) {
    auto const A = Isotherm(mixture.terms, mixture.reducing_temperature / T).at(delta);
    return std::log(delta) + A.A0 + A.A1;
}

void sweep(WideRangeEquation equation, std::uint64_t seed, int gases, int states_each) {
    // DETAIL below its range: pressures of 1e14 kPa between roots, nothing to be right about
    double const lowest_T = equation == WideRangeEquation::gerg2008 ? 60 : 143.15;
    Draw draw(seed);
    int answered = 0, refused = 0;
    for (int g = 0; g < gases; ++g) {
        auto const gas = prepared(drawn_gas(draw), equation);
        ASSERT_TRUE(gas) << one_line(gas.error());
        auto const& m = gas->mixture;
        for (int k = 0; k < states_each; ++k) {
            double const T = k % 2 == 0 ? draw.between(lowest_T, 700) : draw.between(150, 450);
            double const kpa = std::pow(10.0, draw.between(-1, std::log10(70000)));
            auto const plain = walk(m, T, kpa);
            auto const rho = molar_density(*gas, kelvin(T), kilopascal(kpa));
            auto const where = [&] {
                return std::string(name(equation)) + ", gas " + std::to_string(g) + ", " +
                       std::to_string(T) + " K, " + std::to_string(kpa) + " kPa, " +
                       std::to_string(plain.roots.size()) + " roots";
            };
            if (!rho) {
                ++refused;
                EXPECT_TRUE(plain.roots.empty()) << where() << one_line(rho.error());
                continue;
            }
            ++answered;
            ASSERT_FALSE(plain.roots.empty()) << where() << ", got " << *rho;
            double const delta = *rho / m.reducing_density;
            double best = plain.roots.back();
            if (plain.gas && (m.gas_only || T > m.single_root_above ||
                              gibbs(m, T, plain.roots.front()) <= gibbs(m, T, best) + 1e-12))
                best = plain.roots.front();
            // two roots of the same Gibbs energy are one answer
            bool const equal =
                plain.roots.size() > 1 && plain.gas &&
                std::abs(gibbs(m, T, plain.roots.front()) - gibbs(m, T, plain.roots.back())) < 1e-9;
            if (!equal) {
                EXPECT_NEAR(delta / best, 1.0, 1e-7) << where();
            }
        }
    }
    EXPECT_EQ(answered + refused, gases * states_each);
    EXPECT_GT(answered, 9 * gases * states_each / 10);
}

TEST(DensitySweep, Gerg2008ReturnsTheRootThatAWalkAlongTheIsothermFinds) {
    sweep(WideRangeEquation::gerg2008, 20081, 1000, 10);
}

TEST(DensitySweep, DetailReturnsTheRootThatAWalkAlongTheIsothermFinds) {
    sweep(WideRangeEquation::detail, 19921, 1000, 10);
}

}  // namespace
}  // namespace gw::gas
