using System.Reflection;
using System.Text.RegularExpressions;
using System.Xml.Linq;

namespace StreakTrack.Core.Tests.Records;

/// <summary>The documentation comments that the build writes beside an assembly.</summary>
internal sealed partial class XmlSummaries
{
    private readonly Dictionary<string, XElement> _members;

    public XmlSummaries(Assembly assembly) =>
        _members = XDocument.Load(Path.ChangeExtension(assembly.Location, ".xml")).Descendants("member").ToDictionary(m => m.Attribute("name")!.Value);

    /// <summary>The summary of a property, or what the comment of its record says of the parameter that it comes from; null without either.</summary>
    public string? Of(MemberInfo member)
    {
        string type = member.DeclaringType!.FullName!.Replace('+', '.');
        XElement? words = _members.GetValueOrDefault($"P:{type}.{member.Name}")?.Element("summary")
            ?? _members.GetValueOrDefault($"T:{type}")?.Elements("param").FirstOrDefault(p => p.Attribute("name")?.Value == member.Name);
        return words is null ? null : Spaces().Replace(string.Concat(words.Nodes().Select(Plain)), " ").Trim();
    }

    private static string Plain(XNode node) => node switch
    {
        XText text => text.Value,
        XElement { Name.LocalName: "see" } see => see.Attribute("cref")!.Value.Split('.')[^1],
        XElement element => string.Concat(element.Nodes().Select(Plain)),
        _ => "",
    };

    [GeneratedRegex(@"\s+")]
    private static partial Regex Spaces();
}
