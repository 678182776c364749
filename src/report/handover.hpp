#pragma once
/// The page a visit leaves behind: can the analyser be trusted, from when, and on what evidence.
/// The answer is made from the findings; the page adds no judgement and permits nothing.
#include <string>
#include <utility>
#include <vector>

#include "metrology/metrology.hpp"
#include "report/output.hpp"
#include "report/trace_figure.hpp"

namespace gw::report {

struct Checksum {
    std::string name, sha256;
};

struct Handover {
    std::string site, analyser;
    std::string occasion;  ///< which visit: "Oven module exchange, proof as found and as left"
    Date date;
    std::string invented;  ///< the notice of invented data; empty: measured data
    std::vector<metrology::Finding> as_found, as_left;  ///< either may be empty
    std::string consequence;  ///< one sentence: what the error as found amounts to; may be empty
    std::vector<TraceFigure> traces;    ///< one or two, side by side
    std::vector<std::string> cautions;  ///< beside those that always stand there
    std::string criteria;               ///< name of the criteria set
    std::vector<Checksum> evidence;     ///< every file or run the findings rest on
    std::vector<Checksum> tables;       ///< constants used
    std::string program;                ///< "gaswright 0.1.0"
    std::size_t pages = 1;              ///< of the document that this page begins
};

struct HandoverAnswer {
    bool shown = false;  ///< conformity
    /// The state that was judged last, by its required findings; what stands at the top.
    metrology::Verdict verdict{};
    std::string heading;   ///< "Conformity shown" or "Conformity not shown"
    std::string evidence;  ///< from when and on what evidence, or why not
    std::string before;    ///< what was found; empty when there is one state only
};

/// Shown only when every required finding of the last state meets its limit, none of them is
/// provisional, and the calorific value on an independent gas (cv_bias) is among them.
HandoverAnswer answer_of(Handover const& handover);

/// All that the page says, with every finding whether it was printed or not. Traces stand in it by
/// their hashes.
Json handover_json(Handover const& handover);
/// SHA-256 of the text of handover_json.
std::string data_checksum(Handover const& handover);
/// SHA-256 of the lines "sha256  name\n" in the order given: one figure for a whole set.
std::string checksum_of(std::vector<Checksum> const& set);
/// The cautions that every page carries.
std::vector<std::string> standing_cautions();

enum class Paper { a4, letter };
Size size_of(Paper paper);

/// The whole page. Everything on it is measured first; what finds no room is counted, never dropped
/// in silence.
void draw_handover(Canvas& canvas, Handover const& handover);
Result<std::string> handover_pdf(Handover const& handover, Paper paper);

}  // namespace gw::report
