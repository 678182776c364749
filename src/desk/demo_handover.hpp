#pragma once
/// The handover of the demonstration: the page that its invented visit would leave behind.
#include <nlohmann/json.hpp>
#include <string>

#include "desk/demo.hpp"
#include "report/handover.hpp"

namespace gw::desk {

/// version: of the program, as it stands in the footer.
report::Handover demo_handover(Demo const& demo, std::string const& version);

struct WrittenHandover {
    std::string file, sha256;  ///< of the PDF
    Json data;                 ///< all that the page says
    std::string data_sha256;   ///< of `data` as text; stands on the page
};

/// "a4" or "letter", in either case.
Result<report::Paper> paper_of(std::string const& name);
/// Refuses a name that does not end in .pdf: to be asked before any work is done.
Result<> check_handover_file(std::string const& file, std::string const& option = "--handover");
Result<WrittenHandover> write_handover(report::Handover const& handover,
                                       std::string const& file,
                                       report::Paper paper);

}  // namespace gw::desk
