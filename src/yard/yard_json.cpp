#include <algorithm>

#include "kerfwright/files.hpp"
#include "kerfwright/yard/yard_sheets.hpp"
#include "sheet/json_text.hpp"
#include "yard_counts.hpp"

namespace kerfwright {
namespace {

using namespace json_text;
using yard::Stick;

std::string whole(int n) { return std::to_string(n); }

std::string list_json(const YardPlan& plan) {
  std::vector<std::string> lines;
  for (const ListLine& line : plan.list) {
    lines.push_back(
        object({member("product", quoted(plan.order.products[line.product].name)),
                member("wanted", whole(line.wanted)), member("before", whole(line.before)),
                member("made", whole(line.made)), member("missing", whole(line.missing())),
                member("beyond", whole(line.beyond()))}));
  }
  return json_text::lines(lines);
}

std::string boards_json(const SawPlan& plan, const Order& order) {
  std::vector<std::string> boards;
  for (const auto& [stick, count] : yard::sticks_of(plan, order)) {
    boards.push_back(
        object({member("product", quoted(order.products[stick.product].name)),
                member("length", number(stick.length)), member("pieces", whole(count))}));
  }
  return list(boards);
}

std::string log_json(const YardPlan& plan, const YardLog& log, const YardSource& source,
                     std::size_t index) {
  std::vector<std::string> members = {member("name", quoted(log.name)),
                                      member("file", quoted(source.file)),
                                      member("wood_m3", number(plan.wood_m3[index]))};
  if (!plan.plans[index]) {
    members.push_back(member("sawn", "false"));
    return object(members);
  }
  const SawPlan& of_log = *plan.plans[index];
  const auto turn = std::find(plan.sawing.begin(), plan.sawing.end(), index) - plan.sawing.begin();
  members.push_back(member("sawn", "true"));
  members.push_back(member("turn", whole(static_cast<int>(turn) + 1)));
  members.push_back(member("folder", quoted(source.folder)));
  members.push_back(member("pattern", quoted(of_log.pattern)));
  members.push_back(member("value", number(of_log.totals.value)));
  members.push_back(member("net", number(of_log.totals.net)));
  members.push_back(member("hours", number(of_log.totals.hours)));
  members.push_back(member("boards", boards_json(of_log, plan.order)));
  return object(members);
}

std::string more_json(const YardPlan& plan, const std::vector<YardLog>& logs) {
  std::vector<std::string> more;
  for (const MoreLogs& way : plan.more) {
    std::vector<std::string> members = {member("like", quoted(logs[way.log].name)),
                                        member("logs", whole(way.count))};
    if (way.line) {
      const std::size_t product = plan.list[*way.line].product;
      members.push_back(member("product", quoted(plan.order.products[product].name)));
    }
    more.push_back(object(members));
  }
  return list(more);
}

}  // namespace

std::string yard_json(const YardPlan& plan, const std::vector<YardLog>& logs,
                      const std::vector<YardSource>& sources) {
  std::vector<std::string> of_logs;
  for (std::size_t l = 0; l < logs.size(); ++l) {
    of_logs.push_back(log_json(plan, logs[l], sources[l], l));
  }
  std::vector<std::string> members = {
      member("format", quoted("kerfwright-yard-plan")),
      member("version", "1"),
      member("currency", quoted(plan.order.currency)),
      member("aim", quoted(plan.aim == Aim::fill ? "fill" : "most net")),
      member("filled", plan.filled() ? "true" : "false"),
      member("list", list_json(plan)),
      member("logs", json_text::lines(of_logs)),
      member("more", more_json(plan, logs)),
      member("value", number(plan.value)),
      member("sawing_cost", number(plan.sawing_cost)),
      member("net", number(plan.net())),
      member("hours", number(plan.hours)),
      member("wood_price", number(plan.wood_price)),
      member("used_m3", number(plan.used_m3)),
      member("all_m3", number(plan.all_m3)),
      member("board_m3", number(plan.board_m3)),
      member("result", number(plan.result()))};
  if (plan.bound) members.push_back(member("bound_of_plans_looked_at", number(*plan.bound)));
  members.push_back(member("plans_looked_at", whole(plan.plans_looked_at)));
  members.push_back(member("ended_early", plan.stopped ? "true" : "false"));
  return document(members);
}

}  // namespace kerfwright
