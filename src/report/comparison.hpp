#pragma once
/// As found against as left: the same finding twice, against the same limits.
#include <optional>
#include <string>
#include <vector>

#include "metrology/metrology.hpp"
#include "report/canvas.hpp"

namespace gw::report {

/// One row: the finding in both states, told together by id, gas and stream.
struct Pairing {
    std::optional<metrology::Finding> found, left;
    /// The state that was judged last.
    [[nodiscard]] metrology::Finding const& latest() const { return left ? *left : *found; }
    [[nodiscard]] bool required() const { return latest().required; }
};

/// Pairs in the order in which a reader needs them: what is required; then what fails, is unclear
/// or missing as left and was judged as found too; then what stood out as found; then what stands
/// out and was judged once only; then the rest. Within each in the order given.
std::vector<Pairing> paired(std::vector<metrology::Finding> const& as_found,
                            std::vector<metrology::Finding> const& as_left);

/// "Unnormalised total, line gas, stream 1"
std::string title_of(metrology::Finding const& finding);

/// The bar of one row inside `box`: the room between the limits washed, limits as ticks, as found
/// above (open shape), as left below (full shape), each with its expanded uncertainty as a whisker.
/// What lies outside the picture is an arrow at its edge.
void draw_bars(Canvas& canvas, Box box, Pairing const& pairing);

/// The whole figure: titles, bars, values and verdicts in words; as many rows as find room, then a
/// line that counts the others, then the sources of the limits by their letters. Answers how many
/// rows were drawn.
std::size_t draw_comparison(Canvas& canvas,
                            Box box,
                            std::vector<Pairing> const& pairings,
                            double type_size = 7);

/// Heights of one row, of the row of titles, and of the sources below the rows.
double comparison_row_height(double type_size);
double comparison_head_height(double type_size);
double comparison_foot_height(double type_size);

}  // namespace gw::report
