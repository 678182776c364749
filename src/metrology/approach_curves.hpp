#pragma once
/// The curves an approach can follow, their fits, and the futures that a fit leaves possible.
/// Private to settling.cpp.
#include <Eigen/Core>
#include <array>
#include <vector>

namespace gw::metrology::approach_curves {

inline constexpr double largest_tau = 12;  ///< spans of the record: slower looks straight

/// Readings with time counted from the first one, in spans of the record.
struct Record {
    std::vector<double> t, y;
    double span = 1;
    [[nodiscard]] Eigen::Index n() const { return static_cast<Eigen::Index>(t.size()); }
};

/// A curve is a constant plus columns that depend on its shape parameters (logarithms of times).
enum class Shape { constant, line, one, two, swing, one_and_line };
std::size_t columns_of(Shape shape);

struct Parameters {
    std::array<double, 2> p{};  // ln tau, then ln tau2 or ln of the angular frequency
};
void columns(Shape shape, Parameters const& q, double t, double* out);

struct Linear {
    double rss = 0;
    Eigen::VectorXd c;     ///< constant first
    Eigen::MatrixXd root;  ///< R^-1: covariance of c over variance is root root'
    double log_det = 0;
};

struct Fit {
    Shape shape = Shape::constant;
    Parameters q;
    Linear linear;
    double bic = 0;  ///< Bayes criterion
    [[nodiscard]] std::size_t parameters() const;
    [[nodiscard]] double at(double t) const;  ///< t in spans
};

/// Least residual that can be told from rounding, as a sum of squares.
double floor_of(Record const& r);
/// Best fit of one shape: a grid, then Nelder-Mead; amplitudes solved exactly at every step.
Fit best_fit(Record const& r, Shape shape);
std::vector<double> residuals_of(Record const& r, Fit const& fit);

/// One possible future: weight, and the curve.
struct Future {
    double weight = 1;
    Parameters q;
    std::array<double, 2> c{};
    double level = 0;  ///< the constant it ends at
};
/// Where the curve runs at `t` (in spans) with that confidence: for a first-order approach the
/// mixture over the time constant of Student laws of the curve; for two shape parameters draws of
/// them; else the straight fit's own Student law.
struct Band {
    double low{}, high{};
};
std::vector<Band> bands_of(
    Record const& r, Fit const& fit, double rho, std::vector<double> const& t, double confidence);
/// Last time (in spans) at which the curve is further than `limit` from its end.
double last_outside(Shape shape, Future const& f, double limit);
/// The futures of a first- or second-order fit; rho: lag-1 correlation of its residuals.
std::vector<Future> futures_of(Record const& r, Fit const& fit, double rho);

}  // namespace gw::metrology::approach_curves
