// What can fail is looked at.
#include "base/file.hpp"

#ifdef GW_CORRECT
bool save() { return gw::write_file("report.txt", "text").has_value(); }
#else
void save() { gw::write_file("report.txt", "text"); }
#endif
