#pragma once
/// What it does to overlapped peaks that real ones are not exactly of the fitted form: told by
/// those that stand alone, and by what the fit of a cluster leaves over.
#include "trace/emg.hpp"
#include "trace/survey.hpp"

namespace gw::trace {

/// How far the form of a run's peaks is from the fitted one: root mean square of what the fit of a
/// peak that stands alone leaves over, less what noise makes of it, over that of the peak; the
/// middle of all that stand fifty times above the noise. 0 where none does.
double form_error(Survey const& survey, Regions const& regions);
/// The same, told by the shapes fitted to a cluster over samples [first, last): overlapped peaks
/// make up for a part of it.
double form_error(Survey const& survey,
                  Regions const& regions,
                  std::size_t first,
                  std::size_t last,
                  std::vector<Emg> const& shapes);

/// Standard uncertainty of the area of one peak of a cluster because of that, unit x s.
double form_doubt(std::vector<Emg> const& shapes, std::size_t peak, double error);

}  // namespace gw::trace
