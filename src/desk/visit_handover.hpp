#pragma once
/// The whole handover of a visit as a document: its first page, then everything an auditor asks
/// for, each in its section. Made from the record alone; it judges nothing of its own.
#include <string>
#include <vector>

#include "desk/visit.hpp"
#include "report/document.hpp"

namespace gw::desk {

/// program: as it stands in the footer. The visit may be open or ended, signed or not: what is not
/// there is said to be not there.
Result<report::Document> visit_handover(store::Store const& store,
                                        visit::VisitShown const& shown,
                                        std::string const& program);

}  // namespace gw::desk
