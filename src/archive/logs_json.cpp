#include "kerfwright/archive/logs_json.hpp"

#include "sheet/json_text.hpp"

namespace kerfwright {

std::string logs_json(const std::vector<KeptLog>& logs) {
  using json_text::member;
  using json_text::number;
  std::vector<std::string> rows;
  for (const KeptLog& log : logs) {
    const LogSizes& sizes = log.sizes;
    std::vector<std::string> members = {member("name", json_text::quoted(log.card.name)),
                                        member("species", json_text::quoted(log.card.species)),
                                        member("place", json_text::quoted(log.card.place)),
                                        member("felled", json_text::quoted(log.card.felled))};
    if (log.card.moisture) members.push_back(member("moisture", number(*log.card.moisture)));
    for (auto& text :
         {member("note", json_text::quoted(log.card.note)),
          member("added", json_text::quoted(log.added)), member("length", number(sizes.length)),
          member("butt", number(sizes.butt)), member("middle", number(sizes.middle)),
          member("top", number(sizes.top)), member("sweep", number(sizes.sweep)),
          member("volume_over", number(sizes.volume_over)),
          member("volume_under", number(sizes.volume_under)),
          member("shape_sha256", json_text::quoted(log.shape_sha256)),
          member("plans", std::to_string(log.plans)),
          member("tallies", std::to_string(log.tallies))})
      members.push_back(text);
    rows.push_back(json_text::object(members));
  }
  return json_text::document(
      {member("format", json_text::quoted("kerfwright-logs")) + ", " + member("version", "1"),
       member("logs", json_text::lines(rows))});
}

}  // namespace kerfwright
